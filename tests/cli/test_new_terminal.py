"""Asking for a machine on a real terminal of 80 columns and 24 lines: three machines, and ways out."""

from __future__ import annotations

import os
import re
import signal
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.processes import forked

pexpect = pytest.importorskip("pexpect")

ROOT = Path(__file__).parents[2]
CALL = "from cli.main import main; main()"
PROMPT = r"\r\n[>+] $"
WIDTH = 80


MOST_ASKED = 80
"""Questions after which one that is waited for is not going to come."""


class Terminal:
    """A terminal in which `conewright new` runs."""

    def __init__(self, folder: Path, *arguments: str, **environment: str) -> None:
        self.folder = folder
        self.said = ""
        self.child = pexpect.spawn(
            sys.executable,
            ["-c", CALL, "new", *arguments],
            cwd=str(folder),
            dimensions=(24, WIDTH),
            encoding="utf-8",
            timeout=60,
            echo=False,
            env={**os.environ, "PYTHONPATH": str(ROOT), "TERM": "dumb", "NO_COLOR": "1", **environment},
        )
        self.child.delaybeforesend = None
        self.asked()

    def asked(self) -> str:
        """Wait until something is asked, and return what was said before it."""
        self.child.expect(PROMPT)
        self.said += f"{self.child.before}\r\n"
        return str(self.child.before)

    def type(self, text: str) -> str:
        """Type a line and return what is said until the next is asked for."""
        self.child.sendline(text)
        return self.asked()

    def until(self, question: str, **answers: str) -> str:
        """Take suggestions, or the answers given for words of a question, until a question is asked."""
        said = str(self.child.before)
        for _ in range(MOST_ASKED):
            if question in said:
                return said
            answer = next((typed for words, typed in answers.items() if words.replace("_", " ") in said), "")
            said = self.type(answer)
        raise AssertionError(f"{question!r} is not asked: {self.said[-2000:]}")

    def ended(self) -> int:
        """Wait for the end and return the exit code."""
        self.child.expect(pexpect.EOF)
        self.said += self.child.before
        self.child.close()
        return int(self.child.exitstatus)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return an empty folder."""
    return tmp_path


def checked(folder: Path, name: str) -> dict[str, Any]:
    """Return a scenario that check accepts."""
    ran = forked(folder, "check", name)
    assert ran.code == 0, ran.err
    return tomllib.loads((folder / name).read_text(encoding="utf-8"))


def test_a_drill_with_a_correction_a_question_and_a_wrong_answer(folder: Path) -> None:
    """The maker reads the field's speed, goes back, asks why, forgets a unit, names a belt by its width."""
    drill = Terminal(folder)
    assert "speed of the field" in drill.type("1500")
    assert "Enter takes 1500 rpm (what you answered before)" in drill.type("back")
    assert "copy it from the plate" in " ".join(drill.type("?").split())
    assert "4-pole motor at 50 Hz" in drill.type("1420")
    drill.type("")
    drill.type("")
    assert "a power needs its unit here" in drill.type("0.55").lower()
    drill.type("0.55 kW")
    drill.type("none")
    assert "motor_power: 0.55 kW" in drill.type("list")
    drill.type("drill")
    drill.type('Säulenbohrmaschine "Süd"')
    drill.type("mm")
    assert "section Z" in drill.type("10 mm")
    drill.until("Diameter of the largest disc")
    assert "Not taken" in drill.type("40")
    drill.type("9 1/2 in")
    drill.type("rest")
    assert "File name too long" in drill.type("x" * 300)
    drill.type("")
    drill.child.sendline("no")
    assert drill.ended() == 0
    written = checked(folder, "saulenbohrmaschine-sud.toml")
    assert written["title"] == 'Säulenbohrmaschine "Süd"'
    assert written["motor"] == {"speed": 1420, "power": "0.55 kW"}
    assert written["making"]["largest_blank"] == "9 1/2 in"


def test_a_faceplate_head_in_inches_by_sizes_of_work_and_designed(folder: Path) -> None:
    """Inches and fractions, sizes of work on two lines, a countershaft, and the design at the end."""
    head = Terminal(folder)
    head.type("1725 rpm")
    head.type("")
    head.type("")
    head.type("1/2 hp")
    head.type("NEMA 56")
    head.type("face")
    head.type("Faceplate head")
    head.type("")
    head.until("State the speeds as bands")
    head.type("sizes")
    head.type("1600 to 2400 ft/min")
    assert "and the next" in head.type("platters: 9 1/2 to 15 in")
    head.type("bowls: 4 1/2 to 9 1/2 in, 2 speeds")
    assert "bowls: " in head.type("")
    head.until("How many shafts")
    head.type("countershaft")
    head.until("File to write")
    head.type("head.toml")
    head.child.sendline("yes")
    assert head.ended() == 0
    written = checked(folder, "head.toml")
    assert written["units"] == "in"
    assert [band["work"] for band in written["band"]] == [["9 1/2 in", "15 in"], ["4 1/2 in", "9 1/2 in"]]
    assert (folder / "head-design" / "design.json").is_file()


def test_a_grinder_from_the_drawer_with_both_layouts(folder: Path) -> None:
    """Sheaves, discs and belts that are there, a marked speed, a fixed motor that rides, two files."""
    grinder = Terminal(folder)
    grinder.type("1400")
    assert "belongs to mains of 50 Hz" in grinder.type("60")
    for typed in ("none", "0.37 kW", "none", "grinder", "", "mm", "A38", ""):
        grinder.type(typed)
    assert "can burst" in " ".join(grinder.said.split())
    grinder.until("Discs that are ready")
    assert "Read as 8 of 150 mm, 8 of 200 mm, any number of 220 mm." in grinder.type("8 x 150, 8 x 200 and 220")
    assert "1 of 71 mm with 90 mm" in grinder.type("2 x 80, 71+90, 100")
    grinder.type("bands")
    grinder.type("grinding: 1800 to 2400")
    grinder.type("")
    grinder.until("must never pass")
    assert "Not taken" in grinder.type("1000")
    grinder.type("2600")
    grinder.until("How many shafts")
    grinder.type("both")
    grinder.until("on the nail")
    grinder.type("965 mm")
    grinder.type("inside")
    grinder.until("File to write")
    (folder / "tool-grinder.toml").write_text("mine", encoding="utf-8")
    said = grinder.type("tool-grinder.toml")
    assert "nothing is overwritten; try tool-grinder-2.toml" in " ".join(said.split())
    grinder.type("g.toml")
    grinder.child.sendline("no")
    assert grinder.ended() == 0
    assert (folder / "tool-grinder.toml").read_text(encoding="utf-8") == "mine"
    one, two = checked(folder, "g.toml"), checked(folder, "g-countershaft.toml")
    assert one["series"] == two["series"] == {"never_above": 2600}
    assert one["in_hand"]["belt"] == [{"section": "A", "length": "965 mm", "measured": "inside", "count": 1}]
    assert [len(read["stage"]) for read in (one, two)] == [1, 2]


def test_no_line_is_wider_than_the_terminal(folder: Path) -> None:
    """Explanations, lists and suggestions keep to 80 columns, and nothing but plain text and line ends is sent."""
    terminal = Terminal(folder)
    terminal.type("1420")
    terminal.type("")
    terminal.type("")
    terminal.type("0.75 kW")
    terminal.type("")
    terminal.type("?")
    terminal.type("drill")
    said = ""
    while "File to write" not in said:
        terminal.type("?")
        said = terminal.type("")
    terminal.child.sendline("stop")
    terminal.asked()
    terminal.child.sendline("no")
    terminal.ended()
    lines = terminal.said.split("\r\n")
    assert max(map(len, lines)) <= WIDTH
    assert not re.search(r"[\x00-\x08\x0b-\x1f]", terminal.said.replace("\r\n", ""))


def test_an_interrupt_offers_to_keep_the_answers_and_tells_how_to_go_on(folder: Path) -> None:
    """^C half-way writes no scenario; the answers that are kept lead on to one."""
    first = Terminal(folder)
    first.type("1420")
    first.type("")
    first.type("950")
    first.type("0.75 kW")
    first.type("none")
    first.type("mill")
    first.child.sendintr()
    assert "Keep the answers so far in mill.answers?" in first.asked()
    first.child.sendline("")
    assert first.ended() == 5
    (kept,) = folder.iterdir()
    assert f"conewright new --resume {kept.name}" in " ".join(first.said.split())
    second = Terminal(folder, "--resume", kept.name)
    assert "What it is called" in second.said
    second.type("rest")
    second.type("")
    second.child.sendline("no")
    assert second.ended() == 0
    assert checked(folder, "bench-mill.toml")["motor"] == {"speed": 1420, "slower": [950], "power": "0.75 kW"}


def test_a_second_interrupt_keeps_nothing(folder: Path) -> None:
    """Whoever wants to leave at once can."""
    terminal = Terminal(folder)
    terminal.type("1420")
    terminal.child.sendintr()
    terminal.asked()
    terminal.child.sendintr()
    assert terminal.ended() == 5
    assert list(folder.iterdir()) == []


def test_an_end_of_input_keeps_the_answers_without_asking(folder: Path) -> None:
    """Nobody can answer any more, so nothing is lost and nothing else is written."""
    terminal = Terminal(folder)
    terminal.type("1420")
    terminal.child.sendeof()
    assert terminal.ended() == 5
    (kept,) = folder.iterdir()
    assert tomllib.loads(kept.read_text(encoding="utf-8")) == {"motor_speed": 1420}


def test_a_terminal_that_is_closed_keeps_the_answers(folder: Path) -> None:
    """A window that is shut sends its program away; what was typed is kept."""
    terminal = Terminal(folder)
    terminal.type("1420")
    terminal.child.kill(signal.SIGHUP)
    assert terminal.ended() == 5
    assert [path.suffix for path in folder.iterdir()] == [".answers"]


def test_a_terminal_in_latin_1_takes_and_shows_what_it_can(folder: Path) -> None:
    """Letters of that encoding are read by it, the file is UTF-8."""
    terminal = Terminal(folder, PYTHONIOENCODING="latin-1", PYTHONUTF8="0", LC_ALL="C")
    for typed in ("1420", "", "", "0.75 kW", "none", "drill"):
        terminal.type(typed)
    os.write(terminal.child.fileno(), "Bänk\n".encode("latin-1"))
    terminal.asked()
    terminal.type("rest")
    terminal.type("x.toml")
    terminal.child.sendline("no")
    assert terminal.ended() == 0
    assert checked(folder, "x.toml")["title"] == "Bänk"
