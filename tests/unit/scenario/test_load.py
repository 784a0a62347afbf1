"""What a good file is read to."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from math import inf

import pytest
from pydantic import ValidationError

from optimizer.errors import ScenarioError
from optimizer.scenario import (
    Band,
    Belt,
    BeltStage,
    FixedStage,
    Making,
    Motor,
    Scenario,
    Shaft,
    Side,
    load_scenario,
)
from tests.unit.scenario.bases import ONE, TWO


def belt_stage(text: str, number: int = 0) -> BeltStage:
    """Return a belt stage of a good file."""
    stage = load_scenario(text, "machine.toml").stages[number]
    assert isinstance(stage, BeltStage)
    return stage


def test_a_single_cone_takes_at_most_25_lines() -> None:
    """A simple machine needs a simple file: motor, band, mount, stage in 25 lines, with nothing to remark."""
    assert len(ONE.splitlines()) <= 25
    scenario = load_scenario(ONE, "machine.toml")
    assert scenario.remarks == ()
    assert [stage.from_shaft for stage in scenario.chain] == ["motor"]


def test_everything_is_in_one_unit_after_loading() -> None:
    """Lengths are in mm, speeds in rpm, powers in kW, whatever the file is written in."""
    text = ONE.replace('units = "mm"', 'units = "in"').replace('"1420 rpm"', '"1420 rpm"\npower = "1 hp"')
    text = text.replace("[250, 350]", '["9 3/4 in", 14]').replace("travel = 60", 'travel = "60 mm"')
    text = text.replace("free = [75, 200]", 'free = ["3", "7-7/8\\""]')
    scenario = load_scenario(text, "machine.toml")
    stage = belt_stage(text)
    assert scenario.motor.speed_rpm == 1420
    assert scenario.motor.power_kw == pytest.approx(0.7457, abs=5e-5)
    assert stage.centres_mm == pytest.approx((247.65, 355.6))
    assert stage.travel_mm == 60
    assert stage.driver.free_mm == pytest.approx((76.2, 200.025))


def test_a_start_over_pins_is_held_against_the_disc_on_its_own_line() -> None:
    """A size over pins may be above the largest blank where the rim is below it by what truing takes.

    GOST 20889-88 (read): over 12 mm pins less 10.4 mm is the outside of a groove for section A. From 166 mm discs
    that truing takes 4 mm of, 172 mm over pins can be turned (161.6 mm outside), 172.5 mm (162.1 mm) can't.
    """
    text = ONE.replace("[[shaft]]", "[making]\nlargest_blank = 166\n\n[[shaft]]", 1)
    over_pins = text.replace("driven = { free = [75, 200] }", 'driven = { free = [172, 182], measured = "over pins" }')
    assert load_scenario(over_pins, "machine.toml")
    with pytest.raises(ScenarioError, match=r"at most 172\.4 mm over pins, the largest blank less truing"):
        load_scenario(over_pins.replace("172, 182", "172.5, 182"), "machine.toml")


def test_the_text_is_known_by_its_digest() -> None:
    """The scenario carries its name, and the SHA-256 of the text as it was handed over."""
    scenario = load_scenario(ONE, "mill.toml")
    assert (scenario.name, scenario.sha256) == ("mill.toml", hashlib.sha256(ONE.encode()).hexdigest())


@pytest.mark.parametrize("change", [lambda text: "\ufeff" + text, lambda text: text.replace("\n", "\r\n")])
def test_marks_of_other_editors_change_nothing(change: object) -> None:
    """A byte order mark or the line ends of another system are no fault."""
    assert callable(change)
    assert load_scenario(change(ONE), "x").stages == load_scenario(ONE, "x").stages


def test_a_value_or_a_value_with_its_reason_is_the_same_limit() -> None:
    """A limit given a reason is a plain figure like any other."""
    plain = belt_stage(ONE.replace("travel = 60", "travel = 60\nwrap = 80"))
    reasoned = belt_stage(ONE.replace("travel = 60", 'travel = 60\nwrap = { value = 80, reason = "short" }'))
    assert plain.wrap_deg == reasoned.wrap_deg == 80.0


def test_places_may_lie_on_either_side_of_the_origin() -> None:
    """Coordinates are read in the file's units with their sign; the facing cone's place along is taken for both."""
    text = ONE.replace('mount = "slide"', 'mount = "slide"\nat = [-40, "-4 1/2 in"]\ndirection = 30')
    text = text.replace("driver = { free = [75, 200] }", "driver = { free = [75, 200], along = -12 }")
    shaft = load_scenario(text, "machine.toml").shaft("motor")
    assert (shaft.at_mm, shaft.direction_deg) == ((-40.0, -114.3), 30.0)
    stage = belt_stage(text)
    assert (stage.driver.along_mm, stage.driven.along_mm, stage.onward) == (-12.0, -12.0, "outward")


def test_the_maker_may_state_every_source_of_diameters() -> None:
    """Ready pulleys, blanks, any diameter may be mixed; a kept cone stands alone with its own figures."""
    mixed = ONE.replace("driver = { free = [75, 200] }", "driver = { ready = [80], blanks = [150], free = [75, 200] }")
    driver = belt_stage(mixed).driver
    assert (driver.ready_mm, driver.blanks_mm, driver.free_mm) == ((80.0,), (150.0,), (75.0, 200.0))
    assert driver.turned
    kept = belt_stage(TWO, 1).driven
    assert (kept.kept_mm, kept.reversible, kept.pitch_mm) == ((100.0, 125.0, 150.0, 180.0), True, 22.0)
    assert not kept.turned


def test_a_kept_cone_may_be_of_metal() -> None:
    """The material of a kept cone is the maker's to state, and unknown where nobody states it."""
    stated = TWO.replace("reversible = true", 'reversible = true, material = "metal"')
    assert belt_stage(stated, 1).driven.material == "metal"
    assert belt_stage(TWO, 1).driven.material is None


@pytest.mark.parametrize(
    ("belt", "side", "groove", "measured"),
    [
        ('"A"', "", "v", "datum"),
        ('"4L"', "", "v", "outside"),
        ('"PJ 6"', "", "v", "outside"),
        ('"round 8"', "", "v", "datum"),
        ('"flat 3x40"', "", "flat", "outside"),
        ('"A"', ', groove = "flat"', "flat", "outside"),
        ('"A"', ', groove = "crowned"', "crowned", "outside"),
        ('"A"', ', measured = "over pins"', "v", "over pins"),
        ('"A"', ', groove = "flat", measured = "datum"', "flat", "datum"),
    ],
)
def test_rim_and_line_follow_from_the_section(belt: str, side: str, groove: str, measured: str) -> None:
    """Where nothing is stated, a section decides on the rim, and rim and section on the line of the diameters."""
    text = ONE.replace('belt = "A"', f"belt = {belt}").replace("200] }", f"200]{side} }}", 1)
    driver = belt_stage(text).driver
    assert (driver.groove, driver.measured) == (groove, measured)


@pytest.mark.parametrize(
    ("belt", "lengths"),
    [
        ('"A"', "stock"),
        ('{ section = "A", link = true }', "any"),
        ('"round 8"', "any"),
        ('"flat 1/8x2 in"', "any"),
        ('{ section = "4L", lengths = "inch stock" }', "inch stock"),
        ('{ section = "B", lengths = [1000, "45 in"], measured = "inside" }', (1000.0, 1143.0)),
    ],
)
def test_lengths_follow_from_the_section(belt: str, lengths: object) -> None:
    """Belts that come from the roll or in links have any length, others the stock lengths, unless a list is stated."""
    assert belt_stage(ONE.replace('belt = "A"', f"belt = {belt}")).belt.lengths == lengths


def test_what_is_not_stated_follows_from_what_is() -> None:
    """The hub is the bare shaft, the rise the finest turning, the pitch whole layers, the positions a kept cone's."""
    text = TWO.replace("largest_blank = 240", "turn_to = 0.25\nlayer = 17.7")
    scenario = load_scenario(text.replace("positions = [3, 4]\n", ""), "machine.toml")
    assert scenario.shaft("countershaft").hub_mm == 20.0
    assert scenario.making.rise_mm == 0.25
    assert scenario.making.step_pitch == "layers"
    assert isinstance(scenario.stages[1], BeltStage)
    assert scenario.stages[1].positions == (4,)
    assert load_scenario(TWO, "x").making.step_pitch == "faced"


def test_one_number_stands_for_a_list_of_one() -> None:
    """A single centre distance is a locked distance, a single number of positions the only one tried."""
    locked = ONE.replace("centres = [250, 350]", 'centres = "12 in"').replace("travel = 60\n", "")
    locked = locked.replace('belt = "A"', 'belt = "round 8"').replace('mount = "slide"', 'mount = "fixed"')
    stage = belt_stage(locked)
    assert stage.centres_mm == (304.8, 304.8)
    assert stage.positions == (4,)
    assert not stage.moves
    assert belt_stage(ONE).moves


def test_a_locked_pair_may_say_how_it_is_slackened() -> None:
    """A locked pair takes an endless belt where the maker says how that belt is slackened."""
    text = ONE.replace("travel = 60", 'slackened = "the motor is unbolted"').replace(
        'mount = "slide"', 'mount = "fixed"'
    )
    assert belt_stage(text).slackened == "the motor is unbolted"


def test_a_fixed_ratio_is_a_stage_of_its_own_kind() -> None:
    """A stage with a ratio has no belt, and keeps its place in the chain."""
    text = TWO.replace('to = "spindle"', 'to = "back gear"') + (
        '\n[[shaft]]\nname = "back gear"\n'
        '\n[[stage]]\nfrom = "back gear"\nto = "spindle"\nratio = "1/3"\nreverses = true\n'
    )
    last = load_scenario(text, "machine.toml").chain[-1]
    assert isinstance(last, FixedStage)
    assert last.ratio == pytest.approx(1 / 3)
    assert last.reverses


def test_stages_are_put_in_the_order_of_the_chain() -> None:
    """The chain runs from motor to spindle in whatever order the file has the stages."""
    head, first, second = TWO.split("[[stage]]")
    turned = load_scenario(f"{head}[[stage]]{second}\n[[stage]]{first}", "machine.toml")
    assert [stage.from_shaft for stage in turned.stages] == ["countershaft", "motor"]
    assert [stage.from_shaft for stage in turned.chain] == ["motor", "countershaft"]
    assert [turned.place_of(stage) for stage in turned.chain] == ["stage[1]", "stage[0]"]


def test_motor_and_spindle_exist_without_being_stated() -> None:
    """A shaft of which nothing is said stays where it is, with no limit and no known diameter."""
    spindle = load_scenario(ONE, "machine.toml").shaft("spindle")
    assert (spindle.mount, spindle.diameter_mm, spindle.room_mm, spindle.never_above_rpm) == ("fixed", None, inf, inf)


def test_names_of_any_script_are_one_in_both_ways_to_write_them() -> None:
    """Accents typed as one sign or as two name the same shaft, and no script is refused."""
    text = TWO.replace('name = "countershaft"', 'name = "arbre secondé 軸"').replace(
        '"countershaft"', '"arbre seconde\u0301 軸"'
    )
    assert load_scenario(text, "machine.toml").chain[0].to_shaft == "arbre secondé 軸"


def test_no_bands_are_needed() -> None:
    """A file without bands is read, since the speeds of a known machine can be told without them."""
    text = ONE.replace('[[band]]\nname = "all"\nfrom = 700\nto = 2800\nwant = 3\n', "")
    assert load_scenario(text, "machine.toml").bands == ()


def test_models_are_built_by_their_own_names_too() -> None:
    """A program states a machine in mm and rpm by the names of the fields, and breaks the same rules."""
    side = Side(free_mm=(75.0, 200.0))
    stage = BeltStage(
        from_shaft="motor",
        to_shaft="spindle",
        positions=(3,),
        centres_mm=(250.0, 350.0),
        travel_mm=60.0,
        belt=Belt(section="A"),
        driver=side,
        driven=side,
    )
    scenario = Scenario(
        title="built",
        units="in",
        motor=Motor(speed_rpm=1420.0),
        bands=(Band(name="all", from_rpm=700.0, to_rpm=2800.0),),
        making=Making(largest_blank_mm=inf),
        shafts=(Shaft(name="motor", mount="slide"),),
        stages=(stage,),
    )
    assert scenario.chain[0] == stage
    with pytest.raises(ValidationError, match="no mount changes this centre distance"):
        Scenario(title="built", units="mm", motor=Motor(speed_rpm=1420.0), stages=(stage,))
    with pytest.raises(ValidationError, match="the band ends at or below its start"):
        Band(name="low", from_rpm=600.0, to_rpm=200.0)


def test_models_cannot_change() -> None:
    """A scenario is frozen all the way down."""
    scenario = load_scenario(ONE, "machine.toml")
    with pytest.raises(ValidationError, match="frozen"):
        scenario.motor.__setattr__("speed_rpm", 1.0)
    assert hash(scenario) == hash(load_scenario(ONE, "machine.toml"))


def test_the_files_own_names_are_not_those_of_the_program() -> None:
    """A file cannot state a field by the program's name, nor what the program alone knows."""
    with pytest.raises(ScenarioError) as caught:
        load_scenario(
            ONE.replace("travel = 60", "travel_mm = 60").replace('units = "mm"', 'units = "mm"\nsha256 = "0"'), "x"
        )
    assert [fault.where for fault in caught.value.faults][:2] == ["sha256", "stage[0].travel"]


def test_numbers_nobody_can_read_are_refused_at_once() -> None:
    """A number of ten thousand digits, or brackets a thousand deep, end in a sentence and not in a crash."""
    for text in ("x = " + "9" * 10_000, "x = " + "[" * 5_000, "x = " + "{a = " * 5_000):
        with pytest.raises(ScenarioError):
            load_scenario(text, "machine.toml")


def test_loading_takes_neither_scipy_nor_pint_nor_long() -> None:
    """A plain file is read without the heavy libraries, in well under 30 ms."""
    code = (
        "import sys, time\n"
        "from optimizer.scenario import load_scenario, scenario_schema\n"
        "text = sys.stdin.read()\n"
        "taken = []\n"
        "for _ in range(5):\n"
        "    start = time.process_time(); load_scenario(text, 'x'); taken.append(time.process_time() - start)\n"
        "heavy = {'scipy', 'pint', 'numpy'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
        "assert min(taken) < 0.03, taken\n"
    )
    done = subprocess.run([sys.executable, "-c", code], input=TWO, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
