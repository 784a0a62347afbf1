"""Asking for a machine without a terminal: answers out of a file, files that are there already, bytes."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from cli.new import file_stem, free_path, write_new
from optimizer.errors import CannotWriteError
from tests.cli.conftest import Run

ROOT = Path(__file__).parents[2]
PLATE = 'motor_speed = "1420 rpm"\nmotor_power = "0.75 kW"\npurpose = "drill"\n'


def answers(folder: Path, text: str = PLATE) -> str:
    """Write a file of answers and return its name."""
    (folder / "my.answers").write_text(text, encoding="utf-8")
    return "my.answers"


def names(folder: Path) -> set[str]:
    """Return what lies in a folder, hidden files as well."""
    return {path.name for path in folder.iterdir()}


def test_answers_become_a_scenario_that_check_accepts(run: Run, tmp_path: Path) -> None:
    """The name is printed, suggestions are listed, the next command is told, and check has nothing to say."""
    ran = run("new", "--answers", answers(tmp_path))
    assert (ran.code, ran.out) == (0, "bench-drill.toml\n")
    assert "largest_blank: taken as suggested, 240 mm (" in ran.err
    assert "motor_speed: taken" not in ran.err
    assert ran.err.endswith("next: conewright design bench-drill.toml\n")
    checked = run("check", "bench-drill.toml")
    assert checked.code == 0
    assert checked.out.startswith("bench-drill.toml: nothing wrong\n")


def test_both_write_two_scenarios(run: Run, tmp_path: Path) -> None:
    """Each is checked, and both are named."""
    ran = run("new", "--answers", answers(tmp_path, PLATE + 'shafts = "both"\n'), "--out", "x.toml")
    assert (ran.code, ran.out) == (0, "x.toml\nx-countershaft.toml\n")
    assert run("check", "x.toml").code == run("check", "x-countershaft.toml").code == 0


def test_nothing_is_overwritten(run: Run, tmp_path: Path) -> None:
    """A file that is named and there is refused with a name that is free; without --out a free name is taken."""
    (tmp_path / "bench-drill.toml").write_text("mine", encoding="utf-8")
    ran = run("new", "--answers", answers(tmp_path), "--out", "bench-drill.toml")
    assert ran.code == 5
    assert "nothing is overwritten; try bench-drill-2.toml" in ran.err
    assert run("new", "--answers", "my.answers").out == "bench-drill-2.toml\n"
    assert (tmp_path / "bench-drill.toml").read_text(encoding="utf-8") == "mine"


def test_one_of_two_files_in_the_way_leaves_neither(run: Run, tmp_path: Path) -> None:
    """Where the second of two scenarios cannot be written, the first is not either."""
    (tmp_path / "x-countershaft.toml").write_text("mine", encoding="utf-8")
    before = names(tmp_path)
    ran = run("new", "--answers", answers(tmp_path, PLATE + 'shafts = "both"\n'), "--out", "x.toml")
    assert ran.code == 5
    assert names(tmp_path) == before | {"my.answers"}


def test_wrong_answers_are_all_named_and_nothing_is_written(run: Run, tmp_path: Path) -> None:
    """Every fault has its question, and there is no scenario."""
    before = names(tmp_path)
    ran = run("new", "--answers", answers(tmp_path, 'motor_speed = "fast"\nmotor_power = 1\npurpos = "drill"\n'))
    assert ran.code == 2
    assert [line.split(":")[0] for line in ran.err.splitlines()] == ["purpos", "motor_speed", "motor_power", "purpose"]
    assert names(tmp_path) == before | {"my.answers"}


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ('motor_speed = "1e308"', 'motor_speed: this is too large; got "1e308"; allowed: 0.01 rpm to 60000 rpm'),
        ("motor_speed = 0", "motor_speed: this is too small; got 0; allowed: 0.01 rpm to 60000 rpm"),
        ('speeds_by = "bands"\nbands = ["a: 100 to 60000 rpm, 25 speeds"]', "allowed: 1 to 24 speeds"),
        (
            'motor_slower = "1420"\nspeeds_by = "bands"\nbands = ["a: 100 to 60000 rpm, 24 speeds"]\nshafts = "x"',
            "shafts: this is none of",
        ),
        ('speeds_by = "sizes"\nsizes = ["a: 1e-320 mm at 1 m/s"]', "sizes: this size is too small"),
    ],
)
def test_answers_beyond_any_machine_are_refused(run: Run, tmp_path: Path, written: str, said: str) -> None:
    """Figures that no scenario takes are refused where they are read, before anything is worked out from them."""
    text = PLATE if "motor_speed" not in written else PLATE.replace('motor_speed = "1420 rpm"\n', "")
    ran = run("new", "--answers", answers(tmp_path, f"{text}{written}\n"))
    assert ran.code == 2
    assert said in ran.err


def test_answers_that_no_layout_can_be_made_of_write_nothing(run: Run, tmp_path: Path) -> None:
    """Centre distances that no stock belt reaches end as no design, with the reason."""
    text = PLATE + 'shafts = "one stage"\ncentres = "3000 to 3100"\ntravel = 500\n'
    ran = run("new", "--answers", answers(tmp_path, text))
    assert ran.code == 3
    assert "belt" in ran.err
    assert not (tmp_path / "bench-drill.toml").exists()


def test_without_a_terminal_and_answers_the_way_is_told(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A call that nobody can answer says how to go on."""
    monkeypatch.setattr("sys.stdin", io.StringIO())
    ran = run("new")
    assert ran.code == 2
    assert "conewright new --answers my.answers" in ran.err


def test_the_questions_are_printed(run: Run) -> None:
    """They go to stdout, so that they can be sent into a file."""
    ran = run("new", "--questions")
    assert (ran.code, ran.err) == (0, "")
    assert '#motor_speed = "1420 rpm"' in ran.out


@pytest.mark.parametrize("content", [b"\xff\xfe", b"motor_speed = ", b"[[[", b"a = 1\n" * 200_000])
def test_a_file_that_is_none_of_answers_is_refused(run: Run, tmp_path: Path, content: bytes) -> None:
    """Other encodings, broken TOML, far too much: code 2, no traceback."""
    (tmp_path / "my.answers").write_bytes(content)
    assert run("new", "--answers", "my.answers").code == 2
    assert run("new", "--resume", "my.answers").code == 2


def test_answers_and_going_on_exclude_each_other(run: Run, tmp_path: Path) -> None:
    """One asks nothing, the other asks."""
    assert run("new", "--answers", answers(tmp_path), "--resume", "my.answers").code == 2


@pytest.mark.parametrize("title", ["Bohrmaschine »groß«", "鑽床", "مثقاب"])
def test_titles_of_any_script_are_kept_in_any_locale(tmp_path: Path, title: str) -> None:
    """Where the terminal cannot show a title, the file still holds it."""
    answers(tmp_path, PLATE + f'title = "{title}"\n')
    ran = subprocess.run(
        [
            sys.executable,
            "-c",
            "from cli.main import main; main()",
            "new",
            "--answers",
            "my.answers",
            "--out",
            "x.toml",
        ],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "LC_ALL": "C", "PYTHONIOENCODING": "latin-1", "PYTHONUTF8": "0"},
        capture_output=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert f'title = "{title}"' in (tmp_path / "x.toml").read_text(encoding="utf-8")


def test_names_of_files_are_plain() -> None:
    """No separator, no dot in front, nothing that a shell would take apart."""
    assert file_stem("../../etc/passwd") == "etc-passwd"
    assert file_stem("$(rm -rf /) `x`") == "rm-rf-x"
    assert file_stem("\u202e") == "machine"


def test_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write that fails ends with the reason and without a trace of what was begun."""

    def full(self: Path, content: bytes) -> int:
        self.touch()
        raise OSError(28, "No space left on device", str(self))

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(CannotWriteError, match="No space left"):
        write_new({tmp_path / "a.toml": "a", tmp_path / "b.toml": "b"})
    assert names(tmp_path) == set()


def test_a_file_that_appears_meanwhile_is_left_alone(tmp_path: Path) -> None:
    """What another wrote under the name between asking and writing stays; of two files none is left."""
    (tmp_path / "b.toml").write_text("other", encoding="utf-8")
    with pytest.raises(CannotWriteError, match="there already"):
        write_new({tmp_path / "a.toml": "a", tmp_path / "b.toml": "b"})
    assert names(tmp_path) == {"b.toml"}
    assert (tmp_path / "b.toml").read_text(encoding="utf-8") == "other"


def test_file_systems_without_links_do_as_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing can be linked, the name is taken first and never from another."""

    def unlinked(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", unlinked)
    write_new({tmp_path / "a.toml": "a"})
    with pytest.raises(CannotWriteError):
        write_new({tmp_path / "a.toml": "b"})
    assert (tmp_path / "a.toml").read_text(encoding="utf-8") == "a"
    assert names(tmp_path) == {"a.toml"}


def test_a_dangling_link_counts_as_there(tmp_path: Path) -> None:
    """A name that points nowhere is taken all the same."""
    (tmp_path / "a.toml").symlink_to(tmp_path / "nowhere")
    assert free_path(tmp_path / "a.toml").name == "a-2.toml"
