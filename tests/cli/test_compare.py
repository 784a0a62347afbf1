"""What `compare` prints and writes, where to, with which exit code."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import jsonschema

from optimizer.documents.data import schema_of
from optimizer.records.comparison import Comparison
from tests.cli.conftest import Run
from tests.machines import GRINDER

FILES = ["comparison.json", "comparison.md", "speeds.svg"]


def test_tables_go_to_stdout_and_nothing_is_written(run: Run) -> None:
    """Without a folder asked for, the tables and the chart are printed and no file is made."""
    before = sorted(Path().iterdir())
    code, out, err = run("compare", "grinder.toml")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[:5] == [
        "Wet grinder",
        "",
        "Layouts",
        "   row  layout  speeds  order      what it is",
        "-  ---  ------  ------  ---------  --------------------------",
    ]
    assert lines[5] == ">    1       4       4  one stage  proposed, best of 4 speeds"
    assert "Wet grinder: the speeds of its layouts" in lines
    assert sorted(Path().iterdir()) == before


def test_json_is_one_document_by_the_published_schema(run: Run) -> None:
    """The document on stdout is valid by the schema that the schema command prints."""
    code, out, err = run("compare", "grinder.toml", "--json")
    assert (code, err) == (0, "")
    schema = json.loads(run("schema", "comparison").out)
    assert schema == schema_of(Comparison)
    jsonschema.validate(json.loads(out), schema, jsonschema.Draft202012Validator)


def test_folder_is_written_whole_and_told(run: Run) -> None:
    """With a folder asked for, page, document and chart are in it, and named on stderr; the tables are printed too."""
    code, out, err = run("compare", "grinder.toml", "--out", "rows")
    assert code == 0
    assert err.splitlines() == [f"written: rows/{name}" for name in FILES]
    assert sorted(path.name for path in Path("rows").iterdir()) == FILES
    assert out == run("compare", "grinder.toml").out
    assert Path("rows/comparison.json").read_text() == run("compare", "grinder.toml", "--json").out
    assert ElementTree.parse("rows/speeds.svg").getroot().tag == "{http://www.w3.org/2000/svg}svg"
    assert "](speeds.svg)" in Path("rows/comparison.md").read_text()


def test_folder_is_replaced_only_by_force(run: Run) -> None:
    """An earlier comparison stands until it is told to go; a folder with anything else in it stands in any case."""
    Path("rows").mkdir()
    Path("rows/comparison.md").write_text("mine")
    code, out, err = run("compare", "grinder.toml", "--out", "rows")
    assert (code, out) == (5, "")
    assert err.startswith("cannot write rows: it is there already")
    assert run("compare", "grinder.toml", "--out", "rows", "--force", "--quiet")[::2] == (0, "")
    assert Path("rows/comparison.md").read_text().startswith("# Wet grinder: layouts side by side\n")
    Path("rows/notes.txt").write_text("keep me")
    assert run("compare", "grinder.toml", "--out", "rows", "--force").code == 5


def test_extremes_are_rows_of_their_own_on_request(run: Run) -> None:
    """With extremes asked for, some row is made for something else than least J."""
    document = json.loads(run("compare", "grinder.toml", "--extremes", "--json").out)
    assert {name for row in document["rows"] for name in row["made_for"]} > {"least J"}
    assert [row["proposed"] for row in document["rows"]].count(True) == 1


def test_no_design_ends_as_design_does(run: Run) -> None:
    """Where no layout has a design, text, document and code are those of design, and no folder is made."""
    Path("none.toml").write_text(GRINDER.replace("travel = 90", "travel = 30"))
    told = run("compare", "none.toml", "--out", "rows", "--json")
    assert told.code == 3
    assert told == run("design", "none.toml", "--json")
    assert told.err.startswith("no design: layout 4: ")
    assert not Path("rows").exists()


def test_a_machine_without_bands_is_a_wrong_call(run: Run) -> None:
    """A fully known machine has nothing to compare: code 2, with what to do."""
    code, out, err = run("compare", "saw.toml")
    assert (code, out) == (2, "")
    assert err.startswith("band: no band is stated")
