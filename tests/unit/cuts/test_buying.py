"""What is bought, worked out by hand from the mill of `hand_made`."""

from __future__ import annotations

from math import pi

import pytest

from optimizer.cuts.buying import BuyingLine, buying_list
from optimizer.pipeline.job import Job
from tests.jobs import JOBS, job
from tests.unit.cuts.hand_made import BEARINGS, HEAD, by_hand, mill, stage

READY = HEAD + (
    """[[stage]]
from = "motor"
to = "spindle"
positions = 2
centres = [250, 400]
travel = 90
belt = {{ section = "A", lengths = "metric stock" }}
driver = {{ ready = [100, 125] }}
driven = {{ {driven} = [125, 100] }}
[[shaft]]
name = "motor"
{motor}
mount = "slide"
[[shaft]]
name = "spindle"
{spindle}
"""
)


OFFCUT = '[[sheet]]\nsize = ["250 mm", "250 mm"]\ncount = 1\n[[stage]]\nfrom = "motor"'


def _lines(made: Job, group: str) -> list[BuyingLine]:
    return [line for line in buying_list(made).lines if line.group == group]


def _sizes(line: BuyingLine) -> dict[str, float]:
    return {figure.name: figure.value for figure in line.sizes}


def _ready(motor: str = "diameter = 24", spindle: str = "diameter = 24", driven: str = "ready") -> Job:
    """Return a machine of bought sheaves, datum 100 and 125 mm on both shafts."""
    text = READY.format(title="Bought", units="mm", rpm=600, motor=motor, spindle=spindle, driven=driven)
    sizes = (106.6, 131.6), (131.6, 106.6)
    return by_hand(text, stage(0, ("A", 1000.0), sizes, ("rr", "rr" if driven == "ready" else "nn")))


def test_every_stage_has_one_belt_under_all_its_names() -> None:
    """A 1120 datum: inside 1120 - 2π·4.7 = 1090.47, outside 1120 + 2π·3.3 = 1140.73 mm (height 8, depth 3.3; read)."""
    belts = buying_list(mill()).belts
    assert [(belt.stage, belt.count, belt.window.marking) for belt in belts] == [
        (1, 1, "A 1180 mm"),
        (2, 1, "A 1120 mm"),
    ]
    window = belts[1].window
    assert (window.inside_mm, window.outside_mm) == pytest.approx((1120 - 9.4 * pi, 1120 + 6.6 * pi))
    assert window.shortest_mm is not None and window.longest_mm is not None
    assert window.shortest_mm < 1120 < window.longest_mm
    assert "A 1120" in [stock.marking for stock in window.stock]


def test_a_link_belt_is_made_up_on_the_spot() -> None:
    """One link in 24 comes out again (read)."""
    made = mill(
        change=(
            'belt = { section = "A", lengths = ["1180 mm"] }',
            'belt = { section = "A", link = true, every = "20 mm" }',
        )
    )
    belt = buying_list(made).belts[0]
    assert belt.joined and "one link in 24" in belt.note
    assert not buying_list(made).belts[1].note


def test_equal_sheaves_are_counted_together() -> None:
    """Datum 100 and 125 mm on either shaft of 24 mm: two of each, 27.3 mm over the seat (GOST 23360, memory)."""
    sheaves = _lines(_ready(), "sheave")
    assert [line.count for line in sheaves] == [2, 2]
    assert [_sizes(line)["outside"] for line in sheaves] == pytest.approx([106.6, 131.6])
    assert [_sizes(line)["over pins"] for line in sheaves] == pytest.approx([117.0, 142.0])
    assert [_sizes(line)["bore"] for line in sheaves] == [24.0, 24.0]
    assert [_sizes(line)["over the key's seat"] for line in sheaves] == pytest.approx([27.3, 27.3])
    assert "stage 1, driver on motor, step 1; stage 1, driven on spindle, step 2" in sheaves[0].why


def test_sheaves_of_another_bore_are_another_line() -> None:
    """24 and 25 mm shafts need sheaves of their own."""
    assert [line.count for line in _lines(_ready(spindle="diameter = 25"), "sheave")] == [1, 1, 1, 1]


def test_an_unstated_bore_is_asked_for() -> None:
    """Nobody has stated the spindle."""
    sheaves = _lines(_ready(spindle=""), "sheave")
    assert [line.unknown for line in sheaves[:2]] == ["", ""]
    assert all("the diameter of spindle is not stated" in line.unknown for line in sheaves[2:])
    assert [line.why for line in _lines(_ready(spindle=""), "key")] == [
        "motor, one for each sheave or hub; as long as its bore, the least length is for the torque alone"
    ]


def test_kept_cones_are_not_bought() -> None:
    """Two sheaves on the motor, none on the spindle, and no key for what is there already."""
    made = _ready(driven="kept")
    assert [line.count for line in _lines(made, "sheave")] == [1, 1]
    assert [(line.count, line.why.split(",")[0]) for line in _lines(made, "key")] == [(2, "motor")]


def test_timber_has_hubs_as_long_as_its_cone() -> None:
    """Three timber cones: two on the 35 mm hub of the countershaft, 35.4 and 70.8 long; none stated on the spindle.

    There the smallest groove's root, 126.6 - 24 = 102.6, less two walls of 4 leaves 94.6 mm at the most.
    """
    hubs = _lines(mill(), "hub")
    assert [_sizes(hub)["length at least"] for hub in hubs] == pytest.approx([35.4, 70.8, 70.8])
    assert [_sizes(hub).get("outside") for hub in hubs] == [35.0, 35.0, None]
    assert [_sizes(hub)["bore"] for hub in hubs] == [20.0, 20.0, 25.0]
    assert _sizes(hubs[2])["outside at most"] == pytest.approx(94.6)
    assert "outside diameter: not stated" in hubs[2].unknown and not hubs[0].unknown
    assert "one sleeve may carry all cones of countershaft" in hubs[0].why
    assert "sleeve" not in hubs[2].why


def test_every_sheave_and_hub_has_its_key() -> None:
    """Motor 19: 6 x 6 once; countershaft 20: 6 x 6 twice, t1 3.5, t2 2.8; spindle 25: 8 x 7 (GOST 23360-78)."""
    keys = _lines(mill(), "key")
    assert [(key.count, _sizes(key)["width"], _sizes(key)["height"]) for key in keys] == [
        (1, 6.0, 6.0),
        (2, 6.0, 6.0),
        (1, 8.0, 7.0),
    ]
    assert (_sizes(keys[1])["seat in the shaft"], _sizes(keys[1])["seat in the hub"]) == (3.5, 2.8)
    assert (_sizes(keys[1])["over the shaft's seat"], _sizes(keys[1])["over the hub's seat"]) == pytest.approx(
        (16.5, 22.8)
    )


def test_there_are_two_gauge_pins_of_every_diameter() -> None:
    """Both belts are A: one pair of 12 mm (GOST 20889-88, read) for all four cones."""
    (pins,) = _lines(mill(), "gauge pins")
    assert (pins.count, _sizes(pins)["diameter"]) == (2, 12.0)
    assert pins.why.count("stage") == 4


def test_bearings_carry_what_the_belts_pull() -> None:
    """Two for each shaft but the motor's; the load is the greater of the two that the shaft's strength is told with."""
    made = mill(countershaft=BEARINGS, along=("20 mm", "80 mm"))
    bearings = _lines(made, "bearing")
    assert [(line.count, _sizes(line)["bore"]) for line in bearings] == [(2, 20.0), (2, 25.0)]
    (load,) = made.design.shafts.loads
    assert _sizes(bearings[0])["load"] == max(load.bearings_n) > 0
    assert (_sizes(bearings[0])["first place"], _sizes(bearings[0])["second place"]) == (-100.0, 200.0)
    assert [_sizes(line)["speed"] for line in bearings] == pytest.approx([500.0, 625.0])
    assert "its bearings are not stated" in bearings[1].unknown and "ask the bearing maker" in bearings[0].unknown


def test_a_shaft_is_as_long_as_its_room_at_least() -> None:
    """The countershaft's room is stated as 300 mm, the spindle's is not."""
    shafts = _lines(mill(countershaft='room = "300 mm"'), "shaft")
    assert [(line.why, _sizes(line).get("length at least")) for line in shafts] == [
        ("countershaft", 300.0),
        ("spindle", None),
    ]


def test_sheets_are_told_by_nominal_and_real_thickness() -> None:
    """Ten squares go on one sheet of 1525 x 1525, nominal 18, 17.7 mm on average (EN 315, read)."""
    (sheet,) = _lines(mill(), "sheet")
    assert sheet.count == 1 and sheet.why.startswith("10 squares")
    assert _sizes(sheet) == {
        "width": 1525.0,
        "length": 1525.0,
        "nominal thickness": 18.0,
        "mean thickness": 17.7,
        "layer counted on": 17.7,
    }


def test_squares_without_a_place_are_not_lost() -> None:
    """One offcut of 250 x 250 holds one square of 220.6 mm: nine have no place."""
    made = mill(change=('[[stage]]\nfrom = "motor"', OFFCUT))
    there, missing = _lines(made, "sheet")
    assert (there.count, there.why) == (1, "1 square; of those stated to be there")
    assert missing.why.count("layer") == 9 and _sizes(missing)["square at most"] > 0


def test_nothing_is_listed_that_nothing_needs() -> None:
    """Bought sheaves on shafts of unknown size: no hub, key, sheet, bearing, shaft."""
    made = _ready(motor="", spindle="")
    assert {line.group for line in buying_list(made).lines} == {"sheave", "gauge pins"}


@pytest.mark.parametrize("name", JOBS)
def test_every_machine_has_its_list(name: str) -> None:
    """A belt for each stage, as many sheaves as ready steps, a source or a question on each line, always the same."""
    made = job(name)
    found = buying_list(made)
    assert len(found.belts) == len(made.design.machine.stages)
    steps = [s for sheet in made.design.machine.stages for p in sheet.positions for s in (p.driver, p.driven)]
    assert sum(line.count for line in found.lines if line.group == "sheave") == sum(s.source == "ready" for s in steps)
    assert all(line.source or line.unknown for line in found.lines)
    assert all(figure.value == figure.value for line in found.lines for figure in line.sizes)
    assert found == buying_list(made)
