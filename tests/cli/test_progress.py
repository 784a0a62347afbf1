"""The line that says how far the work is."""

from __future__ import annotations

import io
import sys

import pytest

from cli.progress import Progress


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Return that it is one."""
        return True


def test_line_is_rewritten_in_place_then_wiped(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every message begins at the line's start, none breaks the line, the last one is blank."""
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    with Progress(quiet=False) as progress:
        progress.begin("layout 2x4")
        progress.hear(0.0123, 4567)
    first, second, wiped = (part.rstrip() for part in stream.getvalue().split("\r")[1::2])
    assert (first, second) == ("layout 2x4", "layout 2x4: none below J 1.23%, 4,567 combinations")
    assert wiped == ""
    assert "\n" not in stream.getvalue()


@pytest.mark.parametrize(("stream", "quiet"), [(io.StringIO(), False), (Terminal(), True)])
def test_line_is_silent_off_a_terminal_or_when_asked(
    monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, quiet: bool
) -> None:
    """Nothing is written where nobody watches, or where --quiet asks for peace."""
    monkeypatch.setattr(sys, "stderr", stream)
    with Progress(quiet=quiet) as progress:
        progress.begin("layout 2x4")
    assert stream.getvalue() == ""


def test_line_is_wiped_after_an_interrupt(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever ends the work, the terminal is left clean."""
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    with pytest.raises(KeyboardInterrupt), Progress(quiet=False) as progress:
        progress.begin("closing proof")
        raise KeyboardInterrupt
    assert stream.getvalue().split("\r")[-2].strip() == ""
