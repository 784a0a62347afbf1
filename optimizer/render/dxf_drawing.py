"""The entities of a sheet as those of a DXF drawing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from math import cos, isfinite, radians, sin

from ezdxf._options import options
from ezdxf.colors import RGB
from ezdxf.document import Drawing
from ezdxf.entities.hatch import Hatch
from ezdxf.enums import InsertUnits, TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Point, Polyline, Shade, Sheet, Text
from optimizer.render.curves import FULL_DEG, span_deg
from optimizer.render.inks import HATCH_DEG, HATCH_MM, HATCH_PEN_MM, INKS, SHADES
from optimizer.render.signs import distinct_names, printable

__all__ = ["drawing_of", "written"]

NOT_NAMED = r"[<>/\\\":;?*|=,`\x00-\x1f\x7f-\x9f\ud800-\udfff]+"
"""What names of layers may not hold (from memory)."""
RESERVED = ("0", "defpoints")
"""Layers that every drawing has."""
FACE_FILE = "DejaVuSans.ttf"
FOREGROUND = 7
"""The colour that is black on white and white on black (from memory)."""
CUSTOM = 2
"""A pattern that the drawing defines itself (from memory)."""
ALIGNED = {
    ("left", "base"): TextEntityAlignment.LEFT,
    ("middle", "base"): TextEntityAlignment.CENTER,
    ("right", "base"): TextEntityAlignment.RIGHT,
    ("left", "middle"): TextEntityAlignment.MIDDLE_LEFT,
    ("middle", "middle"): TextEntityAlignment.MIDDLE_CENTER,
    ("right", "middle"): TextEntityAlignment.MIDDLE_RIGHT,
    ("left", "top"): TextEntityAlignment.TOP_LEFT,
    ("middle", "top"): TextEntityAlignment.TOP_CENTER,
    ("right", "top"): TextEntityAlignment.TOP_RIGHT,
}
"""By which end and which height of a text stands at its point."""


def drawing_of(sheet: Sheet) -> Drawing:
    """Return a sheet as a drawing, its lower left corner at the origin.

    Raises
    ------
    ValueError
        A place or a size is not finite.
    """
    with _undated():
        drawing = new("R2010", units=InsertUnits.Millimeters)
    drawing.header["$MEASUREMENT"] = 1
    drawing.styles.get("Standard").dxf.font = FACE_FILE
    names = distinct_names((layer.name for layer in sheet.layers), NOT_NAMED, RESERVED)
    scribe = _Scribe(drawing.modelspace(), sheet.scale, names)
    for number, layer in enumerate(sheet.layers):
        _add_layer(drawing, layer, names[layer.name], number, sheet.scale)
        for entity in sheet.on(layer.name):
            scribe.draw(entity, outlined=bool(layer.pen_mm))
    width, height = sheet.width_mm / sheet.scale, sheet.height_mm / sheet.scale
    space, header = drawing.modelspace().dxf, drawing.header
    # the library copies them from the space to the header, but not where one is the origin
    space.extmin = header["$EXTMIN"] = (0.0, 0.0, 0.0)
    space.extmax = header["$EXTMAX"] = (width, height, 0.0)
    space.limmin, space.limmax = (0.0, 0.0), (width, height)
    drawing.set_modelspace_vport(height=max(height, width / 2), center=(width / 2, height / 2))
    return drawing


def written(drawing: Drawing) -> bytes:
    """Return a drawing as its file, after an audit, without dates, numbers by chance or an order by chance.

    Raises
    ------
    RuntimeError
        The audit finds something wrong.
    """
    audit = drawing.audit()
    if audit.errors or audit.fixes:
        found = "; ".join(entry.message for entry in (*audit.errors, *audit.fixes))
        raise RuntimeError(f"the drawing does not stand up to its audit: {found}")
    # left to itself the library adds the classes in use in the order of a set
    for kind in sorted(drawing.entitydb.dxf_types_in_use()):
        drawing.classes.add_class(kind)
    out = StringIO()
    with _undated():
        drawing.write(out)
    return out.getvalue().encode("utf-8", errors="dxfreplace")


@contextmanager
def _undated() -> Iterator[None]:
    """Let the library write fixed dates and numbers; it takes those of the moment otherwise."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _add_layer(drawing: Drawing, layer: Layer, name: str, number: int, scale: float) -> None:
    dashes = "Continuous"
    if layer.dashes_mm:
        dashes = f"DASHES-{number + 1}"
        lengths = [length / scale for length in layer.dashes_mm * (1 + len(layer.dashes_mm) % 2)]
        signed = [-length if place % 2 else length for place, length in enumerate(lengths)]
        drawing.linetypes.add(dashes, [sum(lengths), *signed], description=" ".join(f"{part:.4g}" for part in lengths))
    added = drawing.layers.add(name, color=FOREGROUND, linetype=dashes, lineweight=_weight(layer.pen_mm))
    if layer.ink != "black":
        added.rgb = _rgb(INKS[layer.ink])


class _Scribe:
    """Adds entities to a drawing at true size."""

    def __init__(self, space: Modelspace, scale: float, names: dict[str, str]) -> None:
        self.space, self.scale, self.names = space, scale, names

    def draw(self, entity: Entity, *, outlined: bool) -> None:
        """Add an entity; without an outline only what fills it and lettering."""
        if isinstance(entity, Text):
            self._letter(entity)
            return
        if isinstance(entity, Area | Circle) and entity.shade not in ("none", "paper"):
            self._fill(entity)
        if outlined:
            self._outline(entity)

    def _outline(self, entity: Line | Polyline | Circle | Arc | Area) -> None:
        on = {"layer": self.names[entity.layer]}
        match entity:
            case Line():
                self.space.add_line(self._at(entity.start), self._at(entity.end), on)
            case Polyline():
                self.space.add_lwpolyline([*map(self._at, entity.points)], close=entity.closed, dxfattribs=on)
            case Area():
                self.space.add_lwpolyline([*map(self._at, entity.points)], close=True, dxfattribs=on)
            case Circle():
                self.space.add_circle(self._at(entity.centre), self._size(entity.radius_mm), on)
            case Arc():
                self._arc(entity, on)

    def _arc(self, entity: Arc, on: dict[str, str]) -> None:
        centre, radius = self._at(entity.centre), self._size(entity.radius_mm)
        span = span_deg(entity)
        if span == FULL_DEG:
            self.space.add_circle(centre, radius, on)
        elif span:
            self.space.add_arc(centre, radius, entity.start_deg, entity.end_deg, dxfattribs=on)

    def _fill(self, entity: Area | Circle) -> None:
        hatch = self.space.add_hatch(dxfattribs={"layer": self.names[entity.layer]})
        if isinstance(entity, Circle):
            centre, radius = self._at(entity.centre), self._size(entity.radius_mm)
            hatch.paths.add_edge_path().add_arc(centre, radius, 0.0, FULL_DEG)
        else:
            hatch.paths.add_polyline_path([*map(self._at, entity.points)], is_closed=True)
        _shade(hatch, entity.shade, HATCH_MM / self.scale)

    def _letter(self, entity: Text) -> None:
        on = {"layer": self.names[entity.layer], "rotation": entity.turn_deg}
        text = self.space.add_text(_uncoded(entity.text), height=self._size(entity.height_mm), dxfattribs=on)
        text.set_placement(self._at(entity.at), align=ALIGNED[entity.across, entity.along])

    def _at(self, point: Point) -> Point:
        return self._size(point[0]), self._size(point[1])

    def _size(self, value: float) -> float:
        if not isfinite(value):
            raise ValueError(f"a drawing has finite places and sizes, not {value}")
        return value / self.scale


def _shade(hatch: Hatch, shade: Shade, distance_mm: float) -> None:
    if shade == "hatch":
        turn = radians(HATCH_DEG)
        to_next = (-distance_mm * sin(turn), distance_mm * cos(turn))
        lines = [(HATCH_DEG, (0.0, 0.0), to_next, ())]
        hatch.set_pattern_fill("SLANTED", color=FOREGROUND, pattern_type=CUSTOM, definition=lines)
        hatch.dxf.lineweight = _weight(HATCH_PEN_MM)
    elif shade == "ink":
        hatch.set_solid_fill(FOREGROUND)
    else:
        hatch.set_solid_fill(rgb=_rgb(SHADES[shade]))


def _uncoded(text: str) -> str:
    """Return a text without what means something else in a DXF text (from memory): ``%%``, ``^``, ``\\U+``.

    Examples
    --------
    >>> _uncoded("100%%c ^J \\\\U+0041 a\\nb")
    '100% %c ^ J \\\\ U+0041 a b'
    """
    clean = printable(text).replace("^", "^ ")
    while "%%" in clean:
        clean = clean.replace("%%", "% %")
    return clean.replace("\\U+", "\\ U+").replace("\\M+", "\\ M+")


def _weight(pen_mm: float) -> int:
    """Return the width of line that DXF knows and that comes nearest, in hundredths of a millimetre."""
    return min(VALID_DXF_LINEWEIGHTS, key=lambda known: abs(known - 100 * pen_mm))


def _rgb(lightness: int) -> RGB:
    return RGB(lightness, lightness, lightness)
