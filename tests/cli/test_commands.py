"""What every command prints, where to, and with which exit code."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

import optimizer.pipeline.known
from cli.codes import TRACEBACK_VARIABLE
from optimizer.documents.data import schema_of
from optimizer.records.design import Design
from tests.cli.conftest import Run
from tests.machines import GRINDER
from tests.sampled import sampled
from tests.unit.scenario.broken import BROKEN

FILES = ("cuts.csv", "design.json", "design.md", "measured.csv", "measured.toml")
"""What a design's folder holds."""


def test_check_of_a_sound_file(run: Run) -> None:
    """A sound file gets one line of praise, and the number of layouts that would be searched."""
    assert run("check", "grinder.toml") == (0, "grinder.toml: nothing wrong\nlayouts to search: 1\n", "")


def test_check_of_a_known_machine_names_the_command_for_it(run: Run) -> None:
    """A machine that is known in full is sent to the command that tells its speeds."""
    code, out, _ = run("check", "saw.toml")
    assert (code, out.splitlines()) == (
        0,
        ["saw.toml: nothing wrong", "fully known: conewright speeds tells what it gives"],
    )


def test_check_of_a_file_that_is_not_there(run: Run) -> None:
    """A missing file is a wrong call, with what to try."""
    assert run("check", "none.toml") == (
        2,
        "",
        "none.toml: the file is not there; try: check the name, or the folder you are in\n",
    )


def test_check_of_a_folder(run: Run) -> None:
    """A folder in the place of a file is a wrong call."""
    assert run("check", ".") == (2, "", ".: the file is a folder; try: name the TOML file in it\n")


def test_check_of_bytes_that_are_no_text(run: Run) -> None:
    """A file that is not text is a wrong call, not a bug."""
    Path("binary.toml").write_bytes(b"title = \xff\xfe")
    assert run("check", "binary.toml") == (
        2,
        "",
        "binary.toml: the file is not text in UTF-8 (byte 8); try: save it again as UTF-8\n",
    )


def test_check_tells_where_no_layout_is_possible(run: Run) -> None:
    """Where every layout is ruled out before any search, the reason is told and the code says that no design exists."""
    Path("crowded.toml").write_text(GRINDER.replace('name = "motor"\n', 'name = "motor"\nroom = 60\n'))
    code, out, err = run("check", "crowded.toml")
    assert (code, out) == (3, "")
    assert err.startswith("no design: layout 4: shaft motor: its cones take 85")


@pytest.mark.parametrize("command", ["check", "speeds", "design"])
@pytest.mark.parametrize("number", sampled(range(0, len(BROKEN), 12), every=2))
def test_broken_scenarios_are_refused_by_every_command(run: Run, command: str, number: int) -> None:
    """A sample of broken scenarios ends every command with code 2, every line a fault, and nothing written."""
    Path("broken.toml").write_text(text_of(number), encoding="utf-8")
    before = sorted(Path().iterdir())
    code, out, err = run(command, "broken.toml")
    assert (code, out) == (2, "")
    assert all(": " in line for line in err.splitlines())
    assert sorted(Path().iterdir()) == before


@pytest.mark.parametrize("number", sampled(range(len(BROKEN)), every=4))
def test_every_broken_scenario_ends_check_with_two(run: Run, number: int) -> None:
    """Whatever is wrong with a file, it is the scenario that is wrong: code 2, at least one fault, no traceback."""
    Path("broken.toml").write_text(text_of(number), encoding="utf-8")
    code, out, err = run("check", "broken.toml")
    assert (code, out) == (2, "")
    assert err
    assert "Traceback" not in err


def test_speeds_of_a_known_machine(run: Run) -> None:
    """Speeds, position by position, with code 0 as no limit fails."""
    code, out, err = run("speeds", "saw.toml")
    assert code == 0
    assert "    2  1062.8         2   62.5 %" in out.splitlines()
    assert err.startswith("band: no band is stated")


def test_speeds_with_another_motor_scale(run: Run) -> None:
    """All speeds go with the motor's: 1062.8·1750/1420 = 1309.8 rpm."""
    code, out, _ = run("speeds", "saw.toml", "--motor", "1750 rpm")
    assert code == 0
    assert "    2  1309.8         2   62.5 %" in out.splitlines()
    assert run("speeds", "saw.toml", "--motor", "1750").out == out


def test_speeds_of_a_wrong_motor(run: Run) -> None:
    """A motor speed that cannot be read is a wrong call that names the option."""
    code, out, err = run("speeds", "saw.toml", "--motor", "fast")
    assert (code, out) == (2, "")
    assert err.startswith("--motor: ")
    assert run("speeds", "saw.toml", "--motor", "0").code == 2


def test_speeds_of_a_machine_with_open_choices(run: Run) -> None:
    """A machine still to be designed is refused, every open choice named."""
    code, out, err = run("speeds", "grinder.toml")
    assert (code, out) == (2, "")
    assert [line.split(":")[0] for line in err.splitlines()] == [
        "stage[0].driver",
        "stage[0].driven",
        "stage[0].belt.lengths",
    ]


def test_speeds_of_a_machine_that_breaks_a_limit(run: Run) -> None:
    """A failed limit is told with the word, and ends with code 4."""
    Path("far.toml").write_text(Path("saw.toml").read_text().replace("[300, 400]", "[300, 350]"))
    code, out, _ = run("speeds", "far.toml")
    assert code == 4
    assert "FAILED (limit): stage 1, position 1: own centre distance, greatest is 359.13" in out
    assert "3 FAILED" in out


def test_design_writes_its_folder_and_lists_it(run: Run) -> None:
    """The folder is named after the file, its files are listed on stderr, the tables go to stdout."""
    code, out, err = run("design", "grinder.toml")
    assert code == 0
    assert out.startswith("Wet grinder\n\nLayout 4: 4 speeds, 8 steps to turn, 3 belt moves")
    assert err.splitlines()[-5:] == [f"written: {Path('grinder-design') / name}" for name in FILES]
    assert sorted(p.name for p in Path("grinder-design").iterdir()) == [*FILES]
    assert sorted(p.name for p in Path().iterdir()) == ["grinder-design", "grinder.toml", "saw.toml"]


def test_design_refuses_to_overwrite(run: Run) -> None:
    """A result is not replaced unasked; with --force it is, with the same bytes."""
    assert run("design", "grinder.toml", "--quiet").code == 0
    first = {p.name: p.read_bytes() for p in Path("grinder-design").iterdir()}
    assert run("design", "grinder.toml") == (
        5,
        "",
        "cannot write grinder-design: it is there already; replace it with --force, or choose another with --out\n",
    )
    assert run("design", "grinder.toml", "--force", "--quiet").err == ""
    assert {p.name: p.read_bytes() for p in Path("grinder-design").iterdir()} == first


def test_design_as_json_writes_nothing_unasked(run: Run) -> None:
    """With --json one valid document is printed, and a folder is written only where --out names it."""
    code, out, _ = run("design", "grinder.toml", "--json")
    assert code == 0
    jsonschema.validate(json.loads(out), schema_of(Design))
    assert not Path("grinder-design").exists()
    assert run("design", "grinder.toml", "--json", "--out", "here").out == out
    assert Path("here", "design.json").read_text() == out


def test_design_with_a_layout_that_is_not_there(run: Run) -> None:
    """An unknown layout is a wrong call with the layouts there are."""
    assert run("design", "grinder.toml", "--layout", "2x4") == (
        2,
        "",
        "--layout: the scenario allows no such layout; got 2x4; allowed: 4\n",
    )


def test_design_without_bands(run: Run) -> None:
    """A file that asks for no speeds cannot be designed for: the call is wrong, and the command that fits is named."""
    assert run("design", "saw.toml") == (
        2,
        "",
        "band: no band is stated, so that no speed is wanted; try: add [[band]] with name, from, to; "
        "conewright speeds tells what a known machine gives\n",
    )


def test_design_with_a_wrong_preference(run: Run) -> None:
    """An unknown preference is a wrong call, the choices named."""
    code, out, err = run("design", "grinder.toml", "--prefer", "beauty")
    assert (code, out) == (2, "")
    assert "'evenness', 'timber', 'disc'" in err


def test_design_where_there_is_none(run: Run) -> None:
    """Where no design exists the reason is told with a change that gives one, and nothing is written."""
    Path("fast.toml").write_text(GRINDER.replace("travel = 90", "travel = 30"))
    code, out, err = run("design", "fast.toml")
    assert (code, out) == (3, "")
    assert err.startswith("no design: layout 4: ")
    assert "a design exists, all else as it is, with one of" in err.splitlines()
    assert not Path("fast-design").exists()


@pytest.mark.parametrize("out", ["grinder.toml/out", "missing/out", "grinder.toml"])
def test_design_into_an_impossible_folder(run: Run, out: str) -> None:
    """A place that cannot be a folder is told before the long work, with code 5."""
    code, printed, err = run("design", "grinder.toml", "--out", out)
    assert (code, printed) == (5, "")
    assert err.startswith(f"cannot write {out}: ")


def test_design_where_the_system_refuses(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A refusal of the system is passed on with code 5, and nothing is left."""

    def refuse(_path: Path, _content: bytes) -> int:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "write_bytes", refuse)
    code, _, err = run("design", "grinder.toml", "--quiet")
    assert code == 5
    assert err.endswith("Permission denied; choose another folder with --out\n")
    assert sorted(p.name for p in Path().iterdir()) == ["grinder.toml", "saw.toml"]


def test_interrupt_while_writing_leaves_no_folder(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """^C between two files ends with code 5 and nothing half-written."""
    plain = Path.write_bytes

    def stop(path: Path, content: bytes) -> int:
        if path.name == "design.json":
            raise KeyboardInterrupt
        return plain(path, content)

    monkeypatch.setattr(Path, "write_bytes", stop)
    assert run("design", "grinder.toml") == (5, "", "stopped before the end; nothing half-written is left\n")
    assert sorted(p.name for p in Path().iterdir()) == ["grinder.toml", "saw.toml"]


def test_bug_asks_for_a_report(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """An error nobody foresaw ends with code 1 and a short message; the traceback only where asked for."""

    def broken(*_: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(optimizer.pipeline.known, "machine_sheet", broken)
    monkeypatch.delenv(TRACEBACK_VARIABLE, raising=False)
    code, out, err = run("speeds", "saw.toml")
    assert (code, out) == (1, "")
    assert err.splitlines() == [
        "a bug in conewright, not in your file: ZeroDivisionError: division by zero",
        "please report it with the scenario; CONEWRIGHT_TRACEBACK=1 shows where it happened",
    ]
    monkeypatch.setenv(TRACEBACK_VARIABLE, "1")
    assert "Traceback (most recent call last)" in run("speeds", "saw.toml").err


@pytest.mark.parametrize("of", ["scenario", "design", "no-design", "speeds", "comparison", "cuts", "buying"])
def test_schemas_are_valid(run: Run, of: str) -> None:
    """Every schema is itself a valid JSON schema, of draft 2020-12."""
    code, out, err = run("schema", of)
    assert (code, err) == (0, "")
    jsonschema.Draft202012Validator.check_schema(json.loads(out))


def test_schema_is_the_scenarios_unless_asked(run: Run) -> None:
    """The schema a maker's editor wants is the default."""
    assert run("schema").out == run("schema", "scenario").out


@pytest.mark.parametrize("command", ["check", "speeds", "design", "schema"])
def test_help_has_a_sentence_with_an_example(run: Run, command: str) -> None:
    """Every command says what it does in a sentence, and shows one call."""
    code, out, _ = run(command, "--help")
    assert code == 0
    assert f"Example: conewright {command} " in out
    assert out.splitlines()[2].strip().endswith(".")


def test_version_is_one_line(run: Run) -> None:
    """The version is name and number."""
    code, out, _ = run("--version")
    assert code == 0
    assert out.startswith("conewright")
    assert out.count("\n") == 1


def text_of(number: int) -> str:
    """Return the text of a broken scenario."""
    return BROKEN[number].text


def test_a_design_that_fails_its_checks_is_neither_shown_nor_written(run: Run) -> None:
    """A rail through the spindle's cone fails the room around: code 4, the check named, no folder, no table."""
    places = (
        'mount = "slide"\nat = [0, 0]\ndirection = 180\n\n[[shaft]]\nname = "spindle"\ndiameter = 24\nat = [340, 0]'
    )
    rail = '\n[[obstacle]]\nname = "rail"\nround = { at = [340, -60], diameter = 20 }\n'
    text = Path("grinder.toml").read_text().replace('mount = "slide"', places) + rail
    Path("railed.toml").write_text(text.replace("[75, 200] }", "[75, 200], along = 20 }"))
    code, out, err = run("design", "railed.toml")
    assert (code, out) == (4, "")
    assert err.startswith("no design passes its checks: layout 4: the design found fails its own checks: room around")
    assert not Path("railed-design").exists()
    code, out, _ = run("design", "railed.toml", "--json")
    assert (code, json.loads(out)["rejected"]) == (4, True)
    assert run("compare", "railed.toml").code == 4
