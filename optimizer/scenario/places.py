"""Places in a scenario, written the way a maker finds them."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["inside", "place_of"]


def place_of(path: Sequence[str | int]) -> str:
    """Write a path of keys with indices counted from 0.

    Examples
    --------
    >>> place_of(["stage", 1, "driver", "blanks", 3])
    'stage[1].driver.blanks[3]'
    """
    text = ""
    for part in path:
        text = inside(text, f"[{part}]" if isinstance(part, int) else part)
    return text


def inside(outer: str, inner: str) -> str:
    """Join the place of a table and a place within it.

    Examples
    --------
    >>> inside("stage[1]", "driver"), inside("driver.blanks", "[3]"), inside("", "title"), inside("belt", "")
    ('stage[1].driver', 'driver.blanks[3]', 'title', 'belt')
    """
    if not outer or not inner or inner.startswith("["):
        return outer + inner
    return f"{outer}.{inner}"
