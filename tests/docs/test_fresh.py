"""The documents that are made agree with the code they are made from."""

from __future__ import annotations

import re

import pytest
from typer.testing import CliRunner

from cli.main import app
from optimizer.scenario import scenario_schema
from tests.docs.markup import block_names
from tests.docs.pages import ROOT, page
from tests.fresh_docs import stale


def test_made_documents_are_fresh() -> None:
    """Every document that is made holds what `python -m tests.fresh_docs --write` would write.

    What they hold is made within the test, so that nothing else waits for it where tests are gathered.
    """
    assert [path.name for path in stale()] == [], "run python -m tests.fresh_docs --write"


def test_readme_has_every_made_block() -> None:
    """The example, the figures, the comparison, the scenarios stand in the README between their marks."""
    assert block_names((ROOT / "README.md").read_text(encoding="utf-8")) == [
        "example",
        "figures",
        "grip",
        "comparison",
        "scenarios",
    ]


@pytest.mark.parametrize("command", ["check", "speeds", "design", "compare", "papers", "recheck", "schema"])
def test_help_pages_and_reference_name_the_same_options(command: str) -> None:
    """The options on a command's help page are those of its section in the reference."""
    shown = CliRunner().invoke(app, [command, "--help"], env={"COLUMNS": "80", "NO_COLOR": "1"})
    assert shown.exit_code == 0
    section = page("commands.md").split(f"## conewright {command}\n")[1].split("\n## ")[0]
    listed = set(re.findall(r"^\| `(--[a-z]+)", section, re.MULTILINE))
    assert set(re.findall(r"^ +(--[a-z]+)", shown.output, re.MULTILINE)) - {"--help"} == listed


def test_every_key_of_the_schema_is_in_the_reference_with_its_meaning() -> None:
    """No key of a scenario is missing from the reference, none has an empty meaning."""
    text = page("scenario.md")
    schema = scenario_schema()
    tables = [schema, *(part for part in schema["$defs"].values() if "properties" in part and "title" in part)]
    for part in tables:
        for key, said in part["properties"].items():
            assert re.search(rf"^\| `{key}` \| \S", text, re.MULTILINE), key
            assert said.get("description"), f"{part['title']}.{key}"
