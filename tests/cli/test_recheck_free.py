"""A made machine with one middle cone for both belts, checked again from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from optimizer.documents.data import design_json, schema_of
from optimizer.documents.recheck_form import measured_toml
from optimizer.recheck.records import Recheck
from tests.cli.conftest import Run
from tests.recheck_truth import MIDDLE, job_of
from tests.unit.recheck.forms import as_designed, filled


@pytest.fixture
def made(run: Run, tmp_path: Path) -> Run:
    """Return the call with the machine's file, and the files of its design that are asked for, in its folder."""
    design = job_of("middle").design
    (tmp_path / "middle.toml").write_text(MIDDLE, encoding="utf-8")
    (tmp_path / "design").mkdir()
    (tmp_path / "design" / "design.json").write_text(design_json(design), encoding="utf-8")
    return run


def fill(off: float) -> str:
    """Write the form, step 2 of the middle cone so much too large; return its name."""
    job = job_of("middle")
    sizes = as_designed(job)
    sizes[(1, "driven", 2)] += off
    Path("measured.toml").write_text(filled(measured_toml(job.design), sizes), encoding="utf-8")
    return "measured.toml"


def test_as_designed(made: Run) -> None:
    """All is well, code 0; every step of the middle cone stands there once."""
    ran = made("recheck", "design", fill(0.0))
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(
        "One middle cone\n\nAll is well: the belts fit, the speeds are where they were wanted. Stop.\n"
    )
    assert ran.out.count("middle, driven ") == 3
    assert "middle, driver " not in ran.out
    assert "cone on middle carries the belts of stages 1 and 2 and is told once" in " ".join(ran.out.split())
    assert all(len(line) <= 80 for line in ran.out.splitlines())


def test_one_step_too_large(made: Run) -> None:
    """1 mm too large: belt 1 does not fit, code 4; what is proposed mends both belts, the folder follows the schema."""
    ran = made("recheck", "design", fill(1.0), "--out", "again", "--json")
    assert ran.code == 4
    told = json.loads(ran.out)
    jsonschema.validate(told, schema_of(Recheck))
    assert told == json.loads(Path("again/recheck.json").read_bytes())
    assert [stage["fits"] for stage in told["now"]["stages"]] == [False, True]
    assert told["verdict"] == "skim"
    option = told["options"][0]
    assert option["proved"] and option["within"] == "advice"
    assert all(stage["fits"] for stage in option["made"]["stages"])
    assert all(check["passed"] or check["kind"] == "advice" for check in option["made"]["checks"])
    assert option["skim_mm"] == pytest.approx(sum(2 * change["deeper_mm"] for change in option["skim"]))
    text = Path("again/recheck.md").read_text(encoding="utf-8")
    assert "Proposed: skim" in text and "middle, driven 2" in text


def test_a_reading_under_the_second_belt_is_refused(made: Run) -> None:
    """Code 2, with where to write it."""
    row = '{ stage = 2, side = "driver", position = 1, over_pins = 62 }'
    Path("other.toml").write_text(f"[[check]]\ndate = 2026-11-26\nstep = [{row}]\n", encoding="utf-8")
    ran = made("recheck", "design", "other.toml")
    assert (ran.code, ran.out) == (2, "")
    assert 'stage 1, side "driven", position 3 is this step' in " ".join(ran.err.split())
