"""Screens, sheets, documents of a result."""

from __future__ import annotations

import csv
import json
from io import StringIO

import jsonschema
import pytest

from optimizer.documents.checks import check_summary, troubles
from optimizer.documents.data import design_json, design_of_json, record_json, schema_of
from optimizer.documents.design import design_files, design_screen, speeds_screen
from optimizer.documents.proof import proof_words
from optimizer.records.comparison import Comparison
from optimizer.records.design import Design
from optimizer.records.known import KnownMachine


@pytest.mark.parametrize("name", ["mixer", "saw", "grinder_rows", "mixer_rows"])
def test_documents_follow_their_schemas(name: str, request: pytest.FixtureRequest) -> None:
    """A document is valid by its published schema, which is itself valid; ASCII; reads back as the same record."""
    record: Design | KnownMachine | Comparison = request.getfixturevalue(name)
    text = design_json(record) if isinstance(record, Design) else record_json(record)
    schema = schema_of(type(record))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(text), schema, jsonschema.Draft202012Validator)
    assert text.isascii() and text.endswith("}\n")
    read = design_of_json(text) if isinstance(record, Design) else type(record).model_validate_json(text)
    assert read == record


def test_screens_stay_within_eighty_columns(mixer: Design, saw: KnownMachine) -> None:
    """No line of a screen is longer than 80 characters, none ends in a blank."""
    for line in (*design_screen(mixer).splitlines(), *speeds_screen(saw).splitlines()):
        assert len(line) <= 80
        assert line == line.rstrip()


def test_cut_table_has_every_step_in_the_makers_units(mixer: Design) -> None:
    """One row for every step of every cone, lengths in inches, the blank of a turned disc one of those in hand."""
    rows = list(csv.DictReader(StringIO(design_files(mixer)["cuts.csv"].decode())))
    assert len(rows) == 2 * sum(len(stage.positions) for stage in mixer.machine.stages)
    assert {row["source"] for row in rows} == {"ready", "turned"}
    discs = [row for row in rows if row["cone"] == "countershaft, driven by motor"]
    assert {row["blank_in"] for row in discs} <= {"8", "10", "12"}
    sizes = [p.driven.outside_mm / 25.4 for p in mixer.machine.stages[0].positions]
    assert [float(row["outside_in"]) for row in discs] == pytest.approx(sizes, abs=1e-4)
    assert all(row["blank_in"] == "" for row in rows if row["source"] == "ready")


def test_sheet_holds_all_that_was_decided(mixer: Design) -> None:
    """The sheet repeats cautions, every check, every default, every layout, the scenario's digest."""
    sheet = design_files(mixer)["design.md"].decode()
    assert sheet.startswith("# Clay mixer, =SUM(A1) in its name\n")
    for line in (*mixer.cautions, mixer.scenario.sha256, *(t.title for t in mixer.tried)):
        assert line in sheet
    for default in mixer.scenario.defaults:
        assert f"| {default.key} |" in sheet
    assert sheet.count("\n| ") >= len(mixer.checks)


def test_failed_check_is_never_shown_without_the_word(mixer: Design) -> None:
    """A design with a failed limit says FAILED on the screen, in the sheet, and names the check."""
    broken = mixer.checks[0].model_copy(update={"passed": False, "kind": "limit", "name": "wrap", "where": "stage[0]"})
    bad = mixer.model_copy(update={"checks": (broken, *mixer.checks[1:])})
    assert bad.failed == (broken,)
    assert "FAILED (limit): stage 1: wrap is" in design_screen(bad)
    assert "FAILED (limit): stage 1: wrap is" in design_files(bad)["design.md"].decode()
    assert check_summary(bad.checks).endswith(", 1 FAILED")


def test_troubles_name_the_impossible_first(mixer: Design) -> None:
    """What cannot be comes before a limit, a limit before advice."""
    kinds = ("advice", "impossible", "limit")
    checks = tuple(mixer.checks[0].model_copy(update={"passed": False, "kind": kind}) for kind in kinds)
    assert [line.split(":")[0] for line in troubles(checks, mixer.machine, "in")] == [
        "FAILED (impossible)",
        "FAILED (limit)",
        "warning",
    ]


def test_unproved_result_says_so(mixer: Design) -> None:
    """A search that was ended is called not proved, with the gap and the reason."""
    update = {"status": "not proved", "gap": 0.012, "reason": "1,000 combinations were looked at"}
    lines = list(proof_words(mixer.proof.model_copy(update=update), mixer.series))
    assert lines[1] == "Not proved, gap 1.200 %: 1,000 combinations were looked at"


def test_nan_never_reaches_a_document(saw: KnownMachine) -> None:
    """A figure that is none cannot be written as JSON by mistake."""
    check = saw.checks[0].model_copy(update={"limit": float("nan")})
    with pytest.raises(ValueError, match="not JSON compliant"):
        record_json(saw.model_copy(update={"checks": (check,)}))
