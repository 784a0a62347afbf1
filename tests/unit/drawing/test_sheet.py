"""The neutral sheet."""

from __future__ import annotations

import pytest

from optimizer.drawing.sheet import Circle, Layer, Line, Sheet


def test_an_entity_needs_its_layer() -> None:
    """A sheet with an entity on no layer of its own is refused, with the layers it has."""
    with pytest.raises(ValueError, match="no such layer: cut; the sheet has dots, words"):
        Sheet("t", 10, 10, (Layer("dots"), Layer("words")), (Line("cut", (0, 0), (1, 1)),))


def test_layers_have_names_of_their_own() -> None:
    """Two layers of one name are refused."""
    with pytest.raises(ValueError, match="two layers share a name"):
        Sheet("t", 10, 10, (Layer("dots"), Layer("dots")), ())


def test_a_layer_keeps_its_order() -> None:
    """The entities of a layer come in the order they were drawn."""
    dots = tuple(Circle("dots", (x, 0), 1) for x in (3, 1, 2))
    sheet = Sheet("t", 10, 10, (Layer("dots"), Layer("cut")), (dots[0], Line("cut", (0, 0), (1, 1)), *dots[1:]))
    assert sheet.on("dots") == dots
