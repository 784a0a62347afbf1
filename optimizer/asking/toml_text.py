"""Values and comments written as TOML."""

from __future__ import annotations

import re
from collections.abc import Iterator
from textwrap import wrap

from optimizer.asking.answer import Written

__all__ = ["comment_lines", "toml_key", "toml_value"]

WIDTH = 98
_ESCAPES = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}


def toml_value(value: Written) -> str:
    r"""Write a value so that reading it gives the same one.

    Examples
    --------
    >>> toml_value('9 1/2 in'), toml_value(240), toml_value((0.5, '3/4"')), toml_value(True), toml_value('a\\b')
    ('"9 1/2 in"', '240', '[0.5, "3/4\\""]', 'true', '"a\\\\b"')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{"".join(map(_escaped, value))}"'
    if isinstance(value, tuple):
        return f"[{', '.join(map(toml_value, value))}]"
    return repr(value)


def toml_key(key: str) -> str:
    """Write a key, in quotes where it must be."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else toml_value(key)


def comment_lines(text: str) -> Iterator[str]:
    """Yield a text as lines of a comment, without characters that a comment may not hold."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    for line in wrap(plain, WIDTH, break_long_words=False, break_on_hyphens=False):
        yield f"# {line}"


def _escaped(character: str) -> str:
    if character in _ESCAPES:
        return _ESCAPES[character]
    code = ord(character)
    if code < 0x20 or code == 0x7F:
        return f"\\u{code:04X}"
    return character
