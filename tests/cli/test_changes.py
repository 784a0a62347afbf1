"""What the commands print where limits are to be changed."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from optimizer.documents.data import schema_of
from optimizer.records.changes import NoDesign
from optimizer.records.design import Design
from tests.cli.conftest import Run
from tests.unit.changes.machines import KEPT, edited


def test_no_design_as_json_is_a_document(run: Run) -> None:
    """With --json the reasons and the changes are one document on stdout, the sentences go to stderr, with code 3."""
    Path("far.toml").write_text(edited(KEPT, {"stage[0].travel": 30}))
    code, out, err = run("design", "far.toml", "--json")
    document = json.loads(out)
    assert code == 3
    jsonschema.validate(document, schema_of(NoDesign))
    assert document["title"] == "Glass drill"
    assert err.startswith("no design: layout 4: stage[0]: the travel of 30 mm is ")
    assert "a design exists, all else as it is, with one of" in err.splitlines()
    assert any(line.startswith("  - stage[0].travel = ") for line in err.splitlines())


def test_changes_of_a_design_are_in_its_document(run: Run) -> None:
    """With --changes the document of a design holds what limits could give up; without, it holds nothing there."""
    Path("drill.toml").write_text(KEPT)
    code, out, _ = run("design", "drill.toml", "--changes", "--json")
    document = json.loads(out)
    assert code == 0
    jsonschema.validate(document, schema_of(Design))
    assert {spare["kind"] for spare in document["changes"]["spare"]} >= {"travel", "want", "wrap"}
    assert json.loads(run("design", "drill.toml", "--json").out)["changes"] is None


def test_changes_of_a_design_are_on_the_screen(run: Run) -> None:
    """With --changes the screen ends with the limits and what they could be, no line wider than 80 columns."""
    Path("drill.toml").write_text(KEPT)
    code, out, _ = run("design", "drill.toml", "--changes", "--quiet")
    assert code == 0
    assert "What every limit could give up, one at a time\n" in out
    assert max(map(len, out.splitlines())) <= 80
