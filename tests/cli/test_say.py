"""How remarks and errors stand on stderr."""

from __future__ import annotations

import sys
from io import StringIO

import pytest

from cli.streams import say

LONG = "stage[0].travel: no mount changes this centre distance; got 60; allowed: 0 where no mount moves; try: a mount"


class Terminal(StringIO):
    """A terminal that does not tell its width."""

    def isatty(self) -> bool:
        """Say that it is one."""
        return True


def test_lines_stay_whole_where_there_is_no_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """A file or another program gets one line for one fault."""
    say(LONG, "second")
    assert capsys.readouterr().err == f"{LONG}\nsecond\n"


def test_lines_break_between_words_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a terminal no word is cut, further lines are indented, lines of one text keep their own indent."""
    monkeypatch.setattr(sys, "stderr", terminal := Terminal())
    say(LONG, f"a design exists,\n  - {LONG}")
    lines = terminal.getvalue().splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert " ".join(lines[:2]).replace("   ", " ") == LONG
    assert lines[1].startswith("  ") and not lines[0].startswith(" ")
    assert lines[2:4] == ["a design exists,", lines[3]]
    assert lines[3].startswith("  - stage[0]") and lines[4].startswith("    ")
