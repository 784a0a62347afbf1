"""Cones as they are made, worked out by hand from the mill of `hand_made`."""

from __future__ import annotations

from math import pi, tan

import pytest

from optimizer.cuts import CutCone, cut_cones
from optimizer.cuts.cones import ends_words, facing_steps, large_end, line_words, off_line_left_mm, turned_parts
from tests.jobs import JOBS, job
from tests.unit.cuts.hand_made import HEAD, by_hand, mill, stage

MIXED = HEAD + (
    """[[shaft]]
name = "spindle"
diameter = 25
mount = "slide"
[[stage]]
from = "motor"
to = "spindle"
positions = 3
centres = [250, 400]
travel = 90
belt = {{ section = "A", lengths = [1120] }}
driver = {{ ready = [90, 125], free = [75, 200], material = "metal" }}
driven = {{ kept = [160, 125, 90], measured = "datum", pitch = {pitch} }}
"""
)


def _cone(slug: str) -> CutCone:
    return next(cone for cone in cut_cones(mill()) if cone.slug == slug)


def _mixed(pitch: float = 21.5) -> tuple[CutCone, ...]:
    """Return a driver of ready, turned and ready steps before a kept cone."""
    text = MIXED.format(title="Mixed", units="mm", rpm=1400, pitch=pitch)
    built = stage(0, ("A", 1120.0), ((96.6, 131.6, 166.6), (166.6, 131.6, 96.6)), ("rtr", "nnn"))
    return cut_cones(by_hand(text, built))


def test_there_is_a_cone_for_each_side_of_each_stage_motor_first() -> None:
    """Two stages have four: driver before driven, each on its shaft, facing the other."""
    cones = cut_cones(mill())
    assert [cone.slug for cone in cones] == ["stage-1-driver", "stage-1-driven", "stage-2-driver", "stage-2-driven"]
    assert [(cone.shaft, cone.other_shaft) for cone in cones] == [
        ("motor", "countershaft"),
        ("countershaft", "motor"),
        ("countershaft", "spindle"),
        ("spindle", "countershaft"),
    ]


def test_steps_have_all_their_sizes() -> None:
    """Datum 90 and 150 mm, belt A: rim + 6.6, pins + 17.0, 34 and 36 degrees, root = rim - 2·12 (GOST 20889-88, read).

    Width at the rim 11 + 6.6·tan(angle/2); at the bottom, 12 mm below, 24·tan(angle/2) less.
    """
    cone = _cone("stage-2-driver")
    assert [(s.outside_mm, s.datum_mm, s.over_pins_mm, s.pin_mm, s.groove_deg, s.root_mm) for s in cone.steps] == [
        pytest.approx((96.6, 90.0, 107.0, 12.0, 34.0, 72.6)),
        pytest.approx((156.6, 150.0, 167.0, 12.0, 36.0, 132.6)),
    ]
    halves = [tan(17 * pi / 180), tan(18 * pi / 180)]
    assert [s.top_width_mm for s in cone.steps] == pytest.approx([11 + 6.6 * half for half in halves])
    assert [s.floor_width_mm for s in cone.steps] == pytest.approx([11 + 6.6 * half - 24 * half for half in halves])


def test_places_along_the_shaft_are_counted_from_the_face_beside_step_1() -> None:
    """Two layers of 17.7 mm make a step of 35.4: middles at 17.7 and 53.1, 70.8 mm in all."""
    cone = _cone("stage-2-driver")
    places = [place for s in cone.steps for place in (s.from_mm, s.middle_mm, s.to_mm)]
    assert places == pytest.approx([0, 17.7, 35.4, 35.4, 53.1, 70.8])
    assert cone.width_mm == pytest.approx(70.8)


def test_layers_are_numbered_from_that_face_with_the_grain_turned() -> None:
    """Two discs of 100.6 then two of 160.6 mm: rim + 4 mm truing; square as wide as round; every second one across."""
    layers = _cone("stage-2-driver").layers
    assert [(each.number, each.position, each.grain) for each in layers] == [
        (1, 1, "along"),
        (2, 1, "across"),
        (3, 2, "along"),
        (4, 2, "across"),
    ]
    assert [each.round_mm for each in layers] == pytest.approx([100.6, 100.6, 160.6, 160.6])
    assert all(each.square_mm == each.round_mm and each.thickness_mm == 17.7 for each in layers)


def test_the_mass_is_the_discs_less_bore_and_grooves() -> None:
    """Step 1 of datum 90 over a hub of 35 mm, 685 kg/m³.

    Disc π/4·(96.6² - 35²)·35.4 = 225 386 mm³. The groove is a trapezium 13.018 wide above, 5.681 below, 12 deep:
    112.19 mm²; its centroid 12/3·(13.018 + 2·5.681)/(13.018 + 5.681) = 5.215 mm below the rim, on a circle of 43.085
    mm radius: 2π·43.085·112.19 = 30 371 mm³ (Guldin). (225 386 - 30 371)·685e-9 = 0.13359 kg.
    """
    cone = _cone("stage-2-driver")
    assert cone.steps[0].mass_kg == pytest.approx(0.13359, abs=2e-5)
    assert cone.mass_kg == pytest.approx(sum(s.mass_kg or 0.0 for s in cone.steps))


@pytest.mark.parametrize("name", ["pattern-mill", "moulding-mill", "middle cone"])
def test_cut_list_and_balance_weigh_a_cone_alike(name: str) -> None:
    """The unbalance that a cone of timber may keep is reckoned for the mass that its cut list tells."""
    turning = {cone.key: cone.mass_kg for cone in job(name).design.shafts.cones}
    weighed = [cone for cone in cut_cones(job(name)) if len(cone.turned) == len(cone.steps)]
    assert weighed
    for cone in weighed:
        assert turning[cone.key] == pytest.approx(cone.mass_kg)


def test_a_hub_sets_the_bore_and_a_bare_shaft_is_its_own_bore() -> None:
    """The countershaft has a hub of 35 on 20 mm, the spindle none on 25 mm; keys 6 and 8 mm wide (GOST 23360, read)."""
    driver, driven = _cone("stage-2-driver"), _cone("stage-2-driven")
    assert (driver.bore_mm, driver.hub_mm, driver.shaft_mm) == (35.0, 35.0, 20.0)
    assert (driven.bore_mm, driven.hub_mm, driven.shaft_mm) == (25.0, None, 25.0)
    assert [cone.key_seat.width_mm for cone in (driver, driven) if cone.key_seat] == [6.0, 8.0]


def test_large_end_faces_small_end_and_each_step_its_number() -> None:
    """Driver 90, 150 has its large end last, driven 180, 120 first; step 2 faces step 2."""
    cones = cut_cones(mill())
    driver, driven = cones[2:]
    assert (large_end(driver), large_end(driven), large_end(cones[0])) == ("last", "first", None)
    assert facing_steps(driver, cones, driver.steps[1]) == (("spindle", 2, driven.steps[1]),)
    assert ends_words(driver) == (
        "Large end at step 2, small end at step 1; each step faces the one of the same number on spindle, so large end "
        "faces small end."
    )


def test_a_kept_cones_pitch_is_that_of_the_cone_that_faces_it() -> None:
    """Pitch 21.5 mm on the kept cone: every step of both is as wide, middles at 10.75, 32.25, 53.75, none off line."""
    for cone in _mixed(21.5):
        assert [step.middle_mm for step in cone.steps] == pytest.approx([10.75, 32.25, 53.75])
        assert [step.off_line_mm for step in cone.steps] == [0, 0, 0]


def test_a_step_may_differ_by_twice_what_the_outer_belts_may_be_off() -> None:
    """Two steps in line: 2·most/(2 - 1), with 2 mm per metre of the nearest centre distance (GOST 20889-88, read)."""
    made = mill()
    nearest = min(position.centre_mm or 0.0 for position in made.design.machine.stages[1].positions)
    left = off_line_left_mm(cut_cones(made)[2])
    assert left == pytest.approx(2 * 2 * nearest / 1000)
    assert off_line_left_mm(cut_cones(made)[0]) is None
    assert "passed" in line_words(cut_cones(made)[2], made)


def test_turned_steps_between_ready_ones_are_a_piece_of_their_own() -> None:
    """Only step 2 of three is turned, from metal: one part, no layers, no timber to weigh; a kept cone has no part."""
    driver, kept = _mixed()
    assert [[step.position for step in part] for part in turned_parts(driver)] == [[2]]
    assert (driver.material, driver.layers, driver.mass_kg) == ("metal", (), None)
    assert turned_parts(kept) == ()


@pytest.mark.parametrize("name", JOBS)
def test_every_machine_has_cones_that_fit_their_own_steps(name: str) -> None:
    """Steps lie side by side, sum to the width, keep their belt inside; discs hold their step; layers as counted."""
    for cone in cut_cones(job(name)):
        assert cone.steps[0].from_mm == 0.0
        assert cone.steps[-1].to_mm == pytest.approx(cone.width_mm)
        for one, other in zip(cone.steps, cone.steps[1:], strict=False):
            assert one.to_mm == pytest.approx(other.from_mm)
        for step in cone.turned:
            assert step.to_mm - step.from_mm >= step.top_width_mm
            assert step.blank_mm is not None and step.blank_mm > step.outside_mm
        assert len(cone.layers) == sum(step.layers or 0 for step in cone.steps)
        assert all(step.off_line_mm <= step.off_line_most_mm for step in cone.steps)
