"""Faults are shown so that a person can act on them."""

from __future__ import annotations

from optimizer.errors import Fault


def test_a_place_that_no_file_should_have_is_shortened() -> None:
    """A key of a hundred thousand letters fills no screen; both its ends are shown."""
    said = str(Fault("band[0]." + "a" * 100_000 + "z", "the key is unknown"))
    assert len(said) < 400
    assert said.startswith("band[0].aaa")
    assert "…" in said
    assert said.endswith("z: the key is unknown")
