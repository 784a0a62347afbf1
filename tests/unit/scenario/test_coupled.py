"""Mounts whose one movement changes several belts: what must be stated of them, what cannot be."""

from __future__ import annotations

from typing import Any

import pytest

from optimizer.scenario import Belt, BeltStage, Budget, Shaft, Side
from optimizer.scenario.mounts import coupled_faults, mount_faults, shared_mounts, taken_mm
from optimizer.scenario.shop import Hinge

SIDE = Side(free_mm=(75.0, 200.0))
MOTOR = Shaft(name="motor", at_mm=(0.0, 0.0))
COUNTER = Shaft(name="counter", mount="slide", at_mm=(300.0, 400.0), direction_deg=90.0)
SPINDLE = Shaft(name="spindle", at_mm=(600.0, 0.0))
SHAFTS = [MOTOR, COUNTER, SPINDLE]


def belt(start: str, end: str, **stated: Any) -> BeltStage:
    """Return a stage whose belt is made up to length."""
    fields: dict[str, Any] = {
        "centres_mm": (480.0, 520.0),
        "travel_mm": 50.0,
        "belt": Belt(section="A", link=True),
    } | stated
    return BeltStage(from_shaft=start, to_shaft=end, driver=SIDE, driven=SIDE, **fields)


TWO = (belt("motor", "counter", belt=Belt(section="A")), belt("counter", "spindle"))


def told(shafts: list[Shaft], stages: tuple[BeltStage, ...]) -> list[str]:
    """Return the places of all faults of mounts."""
    return [f.where for rule in (mount_faults, coupled_faults) for f in rule(shafts, stages, "mm")]


def test_a_slide_between_two_shafts_is_accepted() -> None:
    """A countershaft that slides away from motor and spindle draws both belts taut: 300-400-500 triangles."""
    assert told(SHAFTS, TWO) == []
    (common,) = shared_mounts(SHAFTS, TWO)
    assert (common.mount, common.stages) == ("counter", (0, 1))
    for path in common.paths:
        assert path.grows
        assert float(path.centre_mm(0.0)) == pytest.approx(500.0)
        assert float(path.slope(0.0)) == pytest.approx(0.8)


def test_a_hinge_between_two_shafts_is_accepted() -> None:
    """A hinge 300 mm above the motor: the arm of 300 mm is at a right angle to the line to it."""
    hinged = Shaft(name="counter", mount="hinge", at_mm=(300.0, 400.0), hinge=Hinge(at_mm=(0.0, 400.0)))
    (common,) = shared_mounts([MOTOR, hinged, SPINDLE], TWO)
    # outward from the motor is upward, the arc of the axis as long as the movement: dC/ds = 0.8 = sine of the line
    assert [float(path.slope(0.0)) for path in common.paths] == pytest.approx([0.8, 0.8])
    assert told([MOTOR, hinged, SPINDLE], TWO) == []


@pytest.mark.parametrize(
    ("without", "missing"),
    [
        ("motor", "at of motor"),
        ("spindle", "at of spindle"),
        ("direction", "direction of counter"),
    ],
)
def test_places_are_asked_for(without: str, missing: str) -> None:
    """What the settings follow from is named where it is not stated."""
    shafts = [s for s in SHAFTS if s.name != without]
    if without == "direction":
        shafts[1] = Shaft(name="counter", mount="slide", at_mm=(300.0, 400.0))
    (fault,) = coupled_faults(shafts, TWO, "mm")
    assert fault.where == f"shaft[{shafts.index(next(s for s in shafts if s.name == 'counter'))}].mount"
    assert fault.allowed == f"{missing} beside it"


def test_centre_distances_that_turn_round_are_refused() -> None:
    """Sliding upright past the motor, the countershaft never comes nearer than 300 mm."""
    near = (belt("motor", "counter", centres_mm=(290.0, 520.0)), TWO[1])
    assert told(SHAFTS, near) == ["stage[0].centres"]


def test_a_movement_across_a_belt_is_refused() -> None:
    """A countershaft that slides across the line to the motor hardly changes its belt."""
    across = Shaft(name="counter", mount="slide", at_mm=(300.0, 400.0), direction_deg=143.0)
    assert told([MOTOR, across, SPINDLE], TWO)[0] == "shaft[1].at"


def test_belts_that_are_never_in_reach_together_are_refused() -> None:
    """With the first belt at 480 to 520 mm the second is there too, and not at 560 mm."""
    apart = (TWO[0], belt("counter", "spindle", centres_mm=(560.0, 600.0)))
    assert told(SHAFTS, apart) == ["stage[1].centres"]


def test_one_movement_cannot_tighten_two_belts_that_pull_against_each_other() -> None:
    """A countershaft that slides from the motor toward the spindle can tension one; the other is a locked pair."""
    level = Shaft(name="counter", mount="slide", at_mm=(300.0, 400.0), direction_deg=0.0)
    assert told([MOTOR, level, SPINDLE], TWO) == ["stage[1].travel"]
    locked = (TWO[0], belt("counter", "spindle", travel_mm=0.0))
    assert told([MOTOR, level, SPINDLE], locked) == []


def test_two_belts_of_set_lengths_need_something_that_takes_them_up() -> None:
    """One movement follows one belt: the others are made up to length, have a tensioner, or are known to a hair."""
    stock = tuple(stage.model_copy(update={"belt": Belt(section="A")}) for stage in TWO)
    assert told(SHAFTS, stock) == ["stage[0].belt", "stage[1].belt"]
    assert told(SHAFTS, (stock[0], stock[1].model_copy(update={"slackened": "jockey pulley"}))) == []
    known = Budget(tolerance_mm=0.05, stretch_mm=0.1)
    matched = tuple(stage.model_copy(update={"budget": known}) for stage in stock)
    assert told(SHAFTS, matched) == []
    assert taken_mm(matched, (0, 1)) == pytest.approx((0.15, 0.15))
    assert taken_mm(TWO, (0, 1)) == (0.0, 0.0)
    loose = tuple(stage.model_copy(update={"budget": Budget(tolerance_mm=0.2, stretch_mm=0.1)}) for stage in stock)
    assert told(SHAFTS, loose) == ["stage[0].belt", "stage[1].belt"]


def test_three_belts_on_two_mounts_are_refused() -> None:
    """A belt between two mounts that others share has none left that makes up for it."""
    shafts = [
        MOTOR,
        COUNTER,
        Shaft(name="second", mount="slide", at_mm=(600.0, 300.0), direction_deg=90.0),
        Shaft(name="spindle", at_mm=(900.0, 0.0)),
    ]
    three = (TWO[0], belt("counter", "second"), belt("second", "spindle"))
    assert told(shafts, three) == ["shaft[1].mount"]
