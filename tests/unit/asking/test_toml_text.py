"""What is written as TOML reads back as what it was."""

from __future__ import annotations

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from optimizer.asking.tables import comment_lines, toml_key, toml_value

PLAIN = st.one_of(
    st.text(st.characters(codec="utf-8")),
    st.integers(-(10**12), 10**12),
    st.floats(allow_nan=False, allow_infinity=False),
)


@given(st.one_of(PLAIN, st.booleans(), st.lists(PLAIN).map(tuple)))
def test_every_value_reads_back(value: str | int | float | bool | tuple[str | int | float, ...]) -> None:
    """Quotes, backslashes, control characters and all of unicode survive."""
    read = tomllib.loads(f"key = {toml_value(value)}")["key"]
    assert read == (list(value) if isinstance(value, tuple) else value)


@given(st.text(st.characters(codec="utf-8"), min_size=1))
def test_every_key_reads_back(key: str) -> None:
    """Keys that are no bare words are quoted."""
    assert tomllib.loads(f"{toml_key(key)} = 1") == {key: 1}


@given(st.text())
def test_comments_are_nothing_but_comments(text: str) -> None:
    """Whatever a comment is made of, it adds nothing to the file and keeps to one width."""
    lines = list(comment_lines(text))
    assert tomllib.loads("\n".join(lines).encode("utf-8", "replace").decode()) == {}
    assert all(line.startswith("# ") for line in lines)
