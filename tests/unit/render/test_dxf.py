"""Sheets as DXF drawings, opened again and measured."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from ezdxf.document import Drawing
from ezdxf.entities.arc import Arc as DxfArc
from ezdxf.entities.circle import Circle as DxfCircle
from ezdxf.entities.hatch import Hatch
from ezdxf.entities.line import Line as DxfLine
from ezdxf.entities.text import Text as DxfText
from ezdxf.filemanagement import readfile

from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Polyline, Sheet, Text
from optimizer.render import dxf_bytes
from tests.drawn import read_dxf
from tests.sheets import HOSTILE, LAYERS, rich_sheet

MAKE = """
from optimizer.render import dxf_bytes
from tests.sheets import rich_sheet
import sys
sys.stdout.buffer.write(dxf_bytes(rich_sheet()) + dxf_bytes(rich_sheet(scale=0.5)))
"""


def _read(*entities: Entity, scale: float = 1.0) -> Drawing:
    return read_dxf(dxf_bytes(Sheet("t", 100, 60, LAYERS, entities, scale)))


def test_a_file_opens_audited_clean(tmp_path: Path) -> None:
    """Written to a file and opened again, the drawing has no error and nothing to mend, and says millimetres."""
    file = tmp_path / "rich.dxf"
    file.write_bytes(dxf_bytes(rich_sheet()))
    drawing = readfile(file)
    audit = drawing.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert drawing.dxfversion >= "AC1024"  # R2010, from memory
    assert drawing.header["$INSUNITS"] == 4  # millimetres, from memory
    assert drawing.header["$MEASUREMENT"] == 1
    assert (tuple(drawing.header["$EXTMIN"])[:2], tuple(drawing.header["$EXTMAX"])[:2]) == ((0, 0), (160, 120))


def test_a_sheet_of_half_size_is_drawn_at_true_size() -> None:
    """On a sheet 1:2, a circle of 20 mm radius is one of 40, a line 3-4-5 of 50 mm is 100, letters 3 mm high are 6."""
    drawing = _read(
        Circle("cut", (30, 20), 20),
        Line("cut", (10, 10), (40, 50)),
        Arc("cut", (50, 30), 5, 350, 95),
        Text("words", (10, 12), "a", 3),
        Line("thin lines", (0, 0), (1, 0)),
        scale=0.5,
    )
    found = {entity.dxftype(): entity for entity in drawing.modelspace() if entity.dxf.layer != "thin lines"}
    circle, line, arc, text = found["CIRCLE"], found["LINE"], found["ARC"], found["TEXT"]
    assert isinstance(circle, DxfCircle)
    assert (circle.dxf.radius, circle.dxf.center.x, circle.dxf.center.y) == (40, 60, 40)
    assert isinstance(line, DxfLine)
    assert line.dxf.start.distance(line.dxf.end) == pytest.approx(100, abs=1e-9)
    assert isinstance(arc, DxfArc)
    assert (arc.dxf.radius, arc.dxf.start_angle, arc.dxf.end_angle) == (10, 350, 95)
    assert isinstance(text, DxfText)
    assert (text.dxf.height, text.dxf.insert.x, text.dxf.insert.y) == (6, 20, 24)
    assert tuple(drawing.header["$EXTMAX"])[:2] == (200, 120)
    # dashes of 4 and 1.5 mm on paper are 8 and 3 mm long in a drawing twice as large, 11 mm in all
    pattern = drawing.linetypes.get(drawing.layers.get("thin lines").dxf.linetype).pattern_tags.tags
    assert [tag.value for tag in pattern if tag.code in (40, 49)] == [11, 8, -3]


def test_layers_have_names_pens_and_dashes() -> None:
    """Every layer is there under its own name, what DXF forbids in it as a hyphen, with its width and its dashes."""
    drawing = _read()
    names = [layer.dxf.name for layer in drawing.layers if layer.dxf.name not in ("0", "Defpoints")]
    assert names == ["shades", "cut", "thin lines", "dots-marks", "words"]
    assert [drawing.layers.get(name).dxf.lineweight for name in names] == [0, 50, 13, 20, 0]
    assert drawing.layers.get("cut").dxf.linetype == "Continuous"
    assert drawing.layers.get("thin lines").rgb == (0x5A, 0x5A, 0x5A)


def test_names_that_become_one_stay_apart() -> None:
    """Layers whose names differ only in capitals or in forbidden signs are layers of their own."""
    layers = tuple(Layer(name) for name in ("a/b", "a?b", "A-B", "*", "0", "x" * 400, *HOSTILE))
    drawing = read_dxf(dxf_bytes(Sheet("t", 10, 10, layers, tuple(Line(one.name, (0, 0), (1, 1)) for one in layers))))
    on = [entity.dxf.layer for entity in drawing.modelspace()]
    assert len({name.lower() for name in on}) == len(layers)
    assert on[:3] == ["a-b", "a-b-2", "A-B-3"]


def test_shades_are_hatches() -> None:
    """Ink and greys are filled, hatching is lines 2 mm apart at 45 degrees, paper and nothing are no hatch."""
    points = ((0.0, 0.0), (10.0, 0.0), (10.0, 5.0))
    drawing = _read(
        *(Area("shades", points, shade) for shade in ("none", "paper", "pale", "grey", "ink", "hatch")),
        Circle("shades", (5, 5), 2, "ink"),
        scale=0.5,
    )
    pale, grey, ink, hatch, circle = drawing.modelspace()
    for found in (pale, grey, ink, hatch, circle):
        assert isinstance(found, Hatch)
        assert found.dxf.solid_fill == (found is not hatch)
    assert isinstance(pale, Hatch)
    assert isinstance(grey, Hatch)
    assert (pale.rgb, grey.rgb) == ((0xE9,) * 3, (0x9A,) * 3)
    assert isinstance(hatch, Hatch)
    assert hatch.pattern is not None
    (line,) = hatch.pattern.lines
    assert line.angle == 45
    assert line.offset.magnitude == pytest.approx(4)  # 2 mm on the sheet, at half size
    assert hatch.dxf.lineweight == 18
    assert line.offset.x == pytest.approx(-line.offset.y)


def test_a_pen_of_no_width_draws_no_outline() -> None:
    """On a layer without a pen only fillings and lettering are drawn, as in the other formats."""
    drawing = _read(
        Line("shades", (0, 0), (1, 1)),
        Circle("shades", (5, 5), 2, "grey"),
        Area("cut", ((0, 0), (1, 0), (1, 1)), "grey"),
    )
    assert [entity.dxftype() for entity in drawing.modelspace()] == ["HATCH", "HATCH", "LWPOLYLINE"]


def test_full_turns_and_turns_of_nothing() -> None:
    """An arc once around is a circle, one that ends where it starts is not drawn."""
    drawing = _read(
        Arc("cut", (5, 5), 3, 0, 360), Arc("cut", (5, 5), 3, 90, 90), Polyline("cut", ((0, 0), (1, 1)), True)
    )
    assert [entity.dxftype() for entity in drawing.modelspace()] == ["CIRCLE", "LWPOLYLINE"]


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_stay_words(words: str) -> None:
    """Whatever a maker writes, the drawing opens clean, holds one text, and no sign of it is read as a command."""
    drawing = _read(Text("words", (1, 1), words, 3))
    assert not drawing.audit().errors
    (text,) = drawing.modelspace()
    assert isinstance(text, DxfText)
    shown = text.plain_text()
    for kept in ("tab", "<script>", "%", "U+0041", "{\\H3x;big}", "(unbalanced \\( parenthesis \\", "木工", "שלום"):
        assert (kept in shown) == (kept in words)
    assert shown.isprintable()


def test_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    """Processes with different hash seeds write the same bytes, and leave nothing in the folder for caches."""
    runs = []
    for seed in ("1", "2"):
        env = os.environ | {"PYTHONHASHSEED": seed, "XDG_CACHE_HOME": str(tmp_path), "HOME": str(tmp_path)}
        runs.append(subprocess.run([sys.executable, "-c", MAKE], env=env, capture_output=True, check=True))
    assert {run.stdout for run in runs} == {dxf_bytes(rich_sheet()) + dxf_bytes(rich_sheet(scale=0.5))}
    assert [run.stderr for run in runs] == [b"", b""]
    assert list(tmp_path.iterdir()) == []


def test_a_size_without_end_is_refused() -> None:
    """A drawing with an infinite radius is refused, not written broken."""
    with pytest.raises(ValueError, match="finite places and sizes, not inf"):
        _read(Circle("cut", (0, 0), float("inf")))
