"""What every command that designs says where no layout has a design."""

from __future__ import annotations

from cli.codes import CHECK_FAILED, NO_DESIGN
from cli.say import say
from optimizer.documents.changes import none_lines
from optimizer.documents.data import no_design_json
from optimizer.pipeline.none import NoLayoutError

__all__ = ["say_none"]


def say_none(error: NoLayoutError, *, as_json: bool) -> int:
    """Say why there is no design, with what would give one; return the exit code."""
    if as_json:
        print(no_design_json(error.told), end="")
    first, *rest = none_lines(error.told)
    say(f"{'no design passes its checks' if error.rejected else 'no design'}: {first}", *rest)
    return CHECK_FAILED if error.rejected else NO_DESIGN
