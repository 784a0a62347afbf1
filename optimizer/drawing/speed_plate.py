"""The speed plate for a machine's door: where the belts go for every speed, to be engraved at true size."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate
from math import ceil, floor
from typing import NamedTuple

from optimizer.cuts.belt_window import BeltWindow, belt_window
from optimizer.cuts.bench_words import BenchWords
from optimizer.drawing.lettering import JOIN, Hand, broken, one_line
from optimizer.drawing.marks import barbs
from optimizer.drawing.placing import Room
from optimizer.drawing.sheet import Arc, Area, Circle, Entity, Layer, Line, Point, Polyline, Sheet, Text
from optimizer.drawing.speed_axis import speed_label
from optimizer.pipeline.job import Job
from optimizer.quantities import inch_fraction, show_length, surface_figure
from optimizer.quantities.shop import MM_PER
from optimizer.records.mechanics import WorkSheet
from optimizer.records.sheet import SpeedSheet, StageSheet, setting_names, switch_heads, switch_lines

__all__ = ["LAYERS", "speed_plate_sheet"]

OUTLINE_LAYERS = (Layer("cut", 0.1), Layer("dimensions", 0.13), Layer("notes", 0.0))
HOLE_MM, HOLE_FROM_EDGE_MM, CORNER_MM = 4.5, 6.0, 4.0
"""Diameter of the holes, for 4 mm screws; how far their middles lie from the edges; radius of the corners."""
OUTSIDE_MM = 16.0
"""Room around the plate on its page, for dimensions."""
EDGE_MM = 3.0
"""Free edge of the page."""
AWAY_MM, BEYOND_MM, NOTE_MM, ARROW_MM = 7.0, 1.0, 2.2, 1.8
"""Distance of a dimension from the plate, reach of its thin lines beyond it, height of its figures, of its arrows."""
STOP = (
    "STOP AND PULL THE PLUG before a belt is moved. All guards shut before every start. "
    "No wheel, disc or bit above the speed marked on it. Rough, new or large work: slowest speed first."
)
PICTURES = "In the pictures the driving cone is below, the belt the thick line."
LONGEST_NAME = 16
"""Longer names of belts may be broken."""
OTHERS = 4
"""So many other belts that fit are named, those nearest in length."""
WORK_TO_MM = {"mm": 1.0, "cm": 1.0, "in": 25.4 / 8}
"""Steps to which diameters of work are rounded down."""
LENGTH_TO = {"mm": (1.0, 0), "cm": (1.0, 1), "in": (2.54, 1)}
"""Steps to which ends of a window are rounded inward [mm], decimals in which they are written."""
LAYERS = (*OUTLINE_LAYERS, Layer("engrave", 0.3), Layer("engrave belts", 1.0), Layer("words", 0.0))
RPM_MM, LOW_RPM_MM, TITLE_MM, TEXT_MM = 6.0, 5.0, 4.2, 3.0
"""Heights of capitals, of speeds in low rows: at arm's length, 0.6 m, 3 mm is 0.29 degrees, 6 mm is 0.57 (common
practice: 0.3 to 0.5)."""
LEAD_MM, TITLE_LEAD_MM, GAP_MM = 5.0, 6.6, 3.0
WORDS = Hand("words", TEXT_MM, LEAD_MM)
ROW_MM, LOW_ROW_MM, FEW, HEAD_MM = 10.0, 8.4, 9, 6.5
"""Least height of a row, where there are more than a few, what is few; height of the headings."""
SIDE_MM, TOP_MM = 12.0, 6.0
"""Free edge within the outline, left and right, above and below: the holes lie in it."""
BAR_MM, AIR_MM, PICTURE_PAD_MM = 3.4, 1.4, 1.1
"""Width of a step in a picture, least gap of facing ones, room above and below a picture."""
BANDS_MM = 46.0
"""Most room for the names of bands."""
LEAST_MM, LEAST_WIDE_MM, WHOLE_MM = 100.0, 130.0, 5.0
"""Least width of a plate, with more than a few rows; sizes of plates are whole multiples of this."""


def outlined(plate: Room, sizes: BenchWords) -> Iterator[Entity]:
    """Yield outline and holes on layer `cut`, sizes and distances of the holes, in the maker's units, beside it."""
    left, low, right, high = plate
    for start, end in (
        ((left + CORNER_MM, low), (right - CORNER_MM, low)),
        ((right, low + CORNER_MM), (right, high - CORNER_MM)),
        ((right - CORNER_MM, high), (left + CORNER_MM, high)),
        ((left, high - CORNER_MM), (left, low + CORNER_MM)),
    ):
        yield Line("cut", start, end)
    for x, y, turn in ((right, high, 0), (left, high, 90), (left, low, 180), (right, low, 270)):
        centre = x + CORNER_MM * (1 if x == left else -1), y + CORNER_MM * (1 if y == low else -1)
        yield Arc("cut", centre, CORNER_MM, turn, turn + 90)
    inner = HOLE_FROM_EDGE_MM
    holes = [(x, y) for x in (left + inner, right - inner) for y in (low + inner, high - inner)]
    for hole in holes:
        yield Circle("cut", hole, HOLE_MM / 2)

    yield from _distance((left + inner, right - inner), low + inner, low - AWAY_MM, sizes)
    yield from _distance((left, right), high, high + AWAY_MM, sizes)
    yield from _distance((low + inner, high - inner), left + inner, left - AWAY_MM, sizes, upright=True)
    yield from _distance((low, high), right, right + AWAY_MM, sizes, upright=True)
    units = "" if sizes.units == "in" else f" sizes in {sizes.units},"
    said = f"4 holes {sizes.bare(HOLE_MM)}, {sizes.bare(inner)} from the edges;{units} not engraved"
    yield Text("notes", (EDGE_MM, low - OUTSIDE_MM + 3.0), said, NOTE_MM)


def _distance(
    ends: tuple[float, float], from_mm: float, at_mm: float, sizes: BenchWords, *, upright: bool = False
) -> Iterator[Entity]:
    """Yield a distance across, below or above the plate, or an upright one beside it."""

    def place(along: float, off: float) -> Point:
        return (off, along) if upright else (along, off)

    beyond = at_mm + (BEYOND_MM if at_mm > from_mm else -BEYOND_MM)
    for end in ends:
        yield Line("dimensions", place(end, from_mm), place(end, beyond))
    yield Line("dimensions", place(ends[0], at_mm), place(ends[1], at_mm))
    for head in barbs((ends[0], at_mm), (ends[1], at_mm), (ARROW_MM, ARROW_MM / 5)):
        yield Area("dimensions", tuple(place(*point) for point in head), "ink")
    at = place((ends[0] + ends[1]) / 2, at_mm + (-0.8 if upright else 0.8))
    yield Text("notes", at, sizes.bare(ends[1] - ends[0]), NOTE_MM, "middle", turn_deg=90 if upright else 0)


class PlateRow(NamedTuple):
    """One speed."""

    positions: tuple[int, ...]
    """Position of every belt, counted from 1."""
    settings: tuple[str, ...]
    """What everything is switched to, each under the head of its switch."""
    rpm: str
    bands: str
    work: str
    """Greatest diameter of work; nothing where none is known."""
    surfaces: tuple[str, ...]
    """How fast the surface of the bands' own wheel, blade, tool or work runs, a line each."""


def plate_rows(job: Job) -> tuple[PlateRow, ...]:
    """Return a row for every speed that stands on the plate, the slowest first."""
    return tuple(
        PlateRow(
            positions=speed.positions,
            settings=setting_names(job.design.machine, speed.settings),
            rpm=speed_label(speed.rpm),
            bands=", ".join(one_line(band) for band in speed.bands) or "outside every band",
            work=_work(job, speed),
            surfaces=_surfaces(job, speed),
        )
        for speed in job.design.machine.speeds
        if speed.on_plate
    )


def picture_line(job: Job) -> str:
    """Return what the pictures show."""
    shared = [one_line(stage.driver_shaft) for stage in job.design.machine.stages if stage.shared_driver]
    same = (f"The cone on {shaft} is one for both belts, shown the same way round." for shaft in shared)
    return " ".join((PICTURES, *same))


def _surface_head(job: Job) -> str:
    """Return what stands over the speeds of surfaces: what runs so fast, where it is one thing for all rows."""
    things = {row.of for row in _told(job)}
    return things.pop() if len(things) == 1 else "surface"


def _surface_lines(job: Job) -> tuple[str, ...]:
    """Return of what diameter the surfaces are whose speeds are told, where it is one for all rows."""
    things = {(row.of, row.surfaces[0].diameter_mm) for row in _told(job)}
    if len(things) != 1:
        return ()
    ((of, size_mm),) = things
    size = show_length(size_mm, job.scenario.units).replace(" ", JOIN)
    return (f"Speeds of the {of} are those on a wheel of {size}." if of == "blade" else f"The {of} is of {size}.",)


def _belt_lines(job: Job) -> Iterator[str]:
    """Yield what a buyer of every belt must know: its name, others that fit, the window of lengths."""
    for number, stage in enumerate(job.design.machine.stages):
        yield _belt(job, number, stage, belt_window(job, number))


def _switched_lines(job: Job) -> Iterator[str]:
    """Yield what is switched, and between what."""
    for line in switch_lines(job.design.machine):
        yield f"{one_line(line)}."


def size_down(job: Job, size_mm: float) -> str:
    """Return a diameter of work, rounded down to what a plate tells."""
    units = job.scenario.units
    step = WORK_TO_MM[units]
    size = floor(size_mm / step + 1e-9) * step
    if units == "in":
        return f"{inch_fraction(size, step)}{JOIN}in".replace(" ", JOIN)
    return f"{size / MM_PER[units]:g}{JOIN}{units}"


def _work(job: Job, speed: SpeedSheet) -> str:
    """Return the greatest diameter that suits a speed in all of its bands, and that the machine takes."""
    sheet = job.design.work_size
    if sheet is None:
        return ""
    suited = [row.suited_mm[1] for row in sheet.work if row.number == speed.number and row.suited_mm]
    if not suited:
        return ""
    return f"to{JOIN}{size_down(job, min([*suited, sheet.largest_mm or suited[0]]))}"


def _told(job: Job) -> tuple[WorkSheet, ...]:
    """Return the rows whose speeds are told by the surface of one diameter."""
    sheet = job.design.work_size
    return tuple(row for row in sheet.work if row.told) if sheet is not None else ()


def _surfaces(job: Job, speed: SpeedSheet) -> tuple[str, ...]:
    told, alike = _told(job), bool(_surface_lines(job))
    said = []
    for row in told:
        if row.number == speed.number:
            (surface,) = row.surfaces
            of = "" if alike else f"{row.of} {show_length(surface.diameter_mm, job.scenario.units)}: "
            said.append(f"{of}{surface_figure(surface.speed_m_s, row.unit)} {row.unit}".replace(" ", JOIN))
    return tuple(dict.fromkeys(said))


def _belt(job: Job, number: int, stage: StageSheet, window: BeltWindow) -> str:
    crossed = ", crossed" if stage.crossed else ""
    said = f"Belt {number + 1}, {one_line(stage.driver_shaft)} to {one_line(stage.driven_shaft)}{crossed}: "
    said += _held(one_line(stage.marking))
    if window.shortest_mm is None or window.longest_mm is None:
        return f"{said}; no other length."
    others = sorted(
        (belt for belt in window.stock if not belt.chosen),
        key=lambda belt: (abs(belt.datum_length_mm - window.datum_length_mm), belt.marking),
    )[:OTHERS]
    if others:
        names = (belt.marking for belt in sorted(others, key=lambda belt: (belt.datum_length_mm, belt.marking)))
        said += f"; also fit: {', '.join(map(_held, names))}"
    units = job.scenario.units
    step, places = LENGTH_TO[units]
    low, high = ceil(window.shortest_mm / step - 1e-9) * step, floor(window.longest_mm / step + 1e-9) * step
    if low > high:
        return f"{said}; no other length."
    ends = [f"{end / MM_PER[units]:.{places}f}" for end in (low, high)]
    return f"{said}; datum length {ends[0]} to{JOIN}{ends[1]}{JOIN}{units}."


def _held(marking: str) -> str:
    """Return a belt's name, in one piece where it is short."""
    return marking.replace(" ", JOIN) if len(marking) <= LONGEST_NAME else marking


class _Column(NamedTuple):
    """A column of the plate, with what stands in it in every row."""

    head: str
    width_mm: float
    """What it needs, without the gap to the next."""
    cells: tuple[Sequence[str], ...]
    """The lines of every row."""
    hand: Hand = WORDS
    stage: StageSheet | None = None
    """The stage that is pictured left of the cells."""

    @property
    def picture_mm(self) -> float:
        """Width of the picture left of the cells."""
        return BAR_MM * len(self.stage.positions) + 1.2 if self.stage else 0.0


def _columns(job: Job, rows: tuple[PlateRow, ...]) -> Iterator[_Column]:
    """Yield the columns from the left."""

    def wide(texts: Iterable[str], hand: Hand = WORDS) -> float:
        return max(hand.width_mm(text.replace(JOIN, " ")) for text in texts)

    for head, *settings in zip(switch_heads(job.design.machine), *(row.settings for row in rows), strict=True):
        yield _Column(head, wide([head, *settings]), tuple([text] for text in settings))
    for k, stage in enumerate(job.design.machine.stages):
        head = f"belt {k + 1}"
        column = _Column(head, 0.0, tuple([str(row.positions[k])] for row in rows), stage=stage)
        yield column._replace(width_mm=max(column.picture_mm + wide("6"), wide([head])))
    hand = WORDS._replace(height_mm=RPM_MM if len(rows) <= FEW else LOW_RPM_MM)
    yield _Column("rpm", wide((row.rpm for row in rows), hand), tuple([row.rpm] for row in rows), hand)
    names = max(min(wide(row.bands for row in rows), BANDS_MM), wide(["outside"]))
    yield _Column("band", names, tuple(WORDS.broken(row.bands, names) for row in rows))
    for head, cells in (
        ("work", [(row.work,) if row.work else () for row in rows]),
        (_surface_head(job), [row.surfaces for row in rows]),
    ):
        if any(cells):
            lines = tuple(tuple(line.replace(JOIN, " ") for line in cell) for cell in cells)
            yield _Column(head, wide([head, *(line for cell in lines for line in cell)]), lines)


def speed_plate_sheet(job: Job) -> Sheet:
    """Return the plate at true size, with its outline, holes and their distances.

    A row a speed that belongs on the plate, the slowest first: what everything is switched to, a picture of the facing
    cones of every stage with its belt, the number of the position, the speed, its bands, the greatest diameter of work
    where one is known, how fast a blade or wheel runs where the bands are told by it. Below stand what can be switched,
    the belts with others that fit, and what to do before a belt is moved. All of it is black, told by shape alone.

    Layers: `cut` is the outline with the holes, `engrave`, `engrave belts` and `words` go onto the plate, `dimensions`
    and `notes` stand outside it.
    """
    rows = plate_rows(job)
    columns, few = tuple(_columns(job, rows)), len(rows) <= FEW
    *lefts, needed = accumulate((column.width_mm + GAP_MM for column in columns), initial=0.0)
    inside = _whole(max(needed - GAP_MM + 2 * SIDE_MM, LEAST_MM if few else LEAST_WIDE_MM)) - 2 * SIDE_MM
    title = broken(one_line(job.scenario.title), inside, TITLE_MM)
    belts = [broken(line, inside, TEXT_MM) for line in (picture_line(job), *_lines(job))]
    stop = broken(STOP, inside - 2 * GAP_MM, TEXT_MM)
    row_mm = ROW_MM if few else LOW_ROW_MM
    lines = [max(len(column.cells[number]) for column in columns) for number in range(len(rows))]
    heights = [max(row_mm, LEAD_MM * number + 2) for number in lines]
    foot = LEAD_MM * sum(map(len, belts)) + GAP_MM
    box = LEAD_MM * len(stop) + GAP_MM
    head = TITLE_LEAD_MM * len(title) + HEAD_MM
    high = _whole(2 * TOP_MM + head + sum(heights) + GAP_MM + foot + box)
    plate = Room(OUTSIDE_MM, OUTSIDE_MM, OUTSIDE_MM + inside + 2 * SIDE_MM, OUTSIDE_MM + high)
    left, top = plate.left + SIDE_MM, plate.high - TOP_MM
    entities: list[Entity] = [*outlined(plate, BenchWords.of(job.scenario))]
    entities += Hand("words", TITLE_MM, TITLE_LEAD_MM).down((left, top), title)
    table = top - TITLE_LEAD_MM * len(title)
    for column, x in zip(columns, lefts, strict=True):
        entities += WORDS.about((left + x, table - HEAD_MM / 2), [column.head])
    edges = list(accumulate((-height for height in heights), initial=table - HEAD_MM))
    reach = row_mm / 2 - PICTURE_PAD_MM
    for number, (edge, height) in enumerate(zip(edges, heights, strict=False)):
        entities.append(Line("engrave", (left, edge), (left + inside, edge)))
        middle = edge - height / 2
        for column, x in zip(columns, lefts, strict=True):
            cell = column.cells[number]
            if column.stage:
                entities += _picture(column.stage, int(cell[0]), left + x, (middle - reach, middle + reach))
            entities += column.hand.about((left + x + column.picture_mm, middle), cell)
    entities.append(Line("engrave", (left, edges[-1]), (left + inside, edges[-1])))
    y = edges[-1] - GAP_MM
    entities += WORDS.down((left, y), [line for lines in belts for line in lines])
    y -= foot
    corners = (left, y), (left + inside, y), (left + inside, y - box), (left, y - box)
    entities.append(Polyline("engrave belts", corners, closed=True))
    entities += WORDS.down((left + GAP_MM, y - (GAP_MM + LEAD_MM - TEXT_MM) / 2), stop)
    page = plate.right + OUTSIDE_MM, plate.high + OUTSIDE_MM
    return Sheet(one_line(job.scenario.title), *page, LAYERS, tuple(entities), said=_said(job, rows))


def _whole(size_mm: float) -> float:
    """Return the next whole multiple up, in which plates are cut."""
    return ceil(size_mm / WHOLE_MM - 1e-9) * WHOLE_MM


def _picture(stage: StageSheet, position: int, left: float, span: tuple[float, float]) -> Iterator[Entity]:
    """Yield the cones of a stage seen from the side, driver below, the driven one above, with the belt on its steps.

    The slowest position is at the left; of a belt whose driver is the cone of the stage before at the right, so that
    this cone is the same way round in both pictures.
    """
    low, high = span
    widest = max(p.driver.outside_mm + p.driven.outside_mm for p in stage.positions)
    share = (high - low - AIR_MM) / widest
    places = stage.positions[::-1] if stage.shared_driver else stage.positions
    for place, step in enumerate(places):
        x = left + BAR_MM * place
        for base, size in ((low, step.driver.outside_mm * share), (high, -step.driven.outside_mm * share)):
            corners = (x, base), (x + BAR_MM, base), (x + BAR_MM, base + size), (x, base + size)
            yield Polyline("engrave", corners, closed=True)
    x = left + BAR_MM * (next(place for place, step in enumerate(places) if step.number == position) + 0.5)
    yield Line("engrave belts", (x, low), (x, high))


def _said(job: Job, rows: tuple[PlateRow, ...]) -> str:
    """Return the plate in words."""
    heads = switch_heads(job.design.machine)
    told = [
        f"{row.rpm} rpm: "
        + "".join(f"{head} at {setting}, " for head, setting in zip(heads, row.settings, strict=True))
        + ", ".join(f"belt {k + 1} on position {position}" for k, position in enumerate(row.positions))
        + f"; {row.bands}"
        + (f"; work {row.work}" if row.work else "")
        + (f"; {_surface_head(job)} {', '.join(row.surfaces)}" if row.surfaces else "")
        for row in rows
    ]
    return ". ".join([*told, *(line.rstrip(".") for line in _lines(job)), STOP]).replace("\x02", " ")


def _lines(job: Job) -> tuple[str, ...]:
    """Return what is told below the rows: surfaces, what can be switched, belts."""
    return (*_surface_lines(job), *_switched_lines(job), *_belt_lines(job))
