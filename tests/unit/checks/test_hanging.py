"""Mounts that weight, a spring or a pull draws, on machines whose pulls can be worked out on paper.

Stage 1 has one position, 125 on 125 mm (datum = pitch), belt A 1120: its centre distance is (1120 − π·125)/2 = 363.650
mm, so that both strands run straight up from the motor, 62.5 mm left and right of it. The motor turns anticlockwise:
the right side of its pulley moves up, so that the left strand runs toward it and is the tight one. At 1400 rpm the belt
runs π·0.125·1400/60 = 9.1630 m/s; 0.75 kW make a difference of 750/9.1630 = 81.851 N, at half a turn the ratio of pulls
is 5, so that the slack strand needs 81.851/4 = 20.463 N. g = 9.80665 m/s².
"""

from __future__ import annotations

import pytest

from optimizer.checks import Check, check_design, skipped_checks
from optimizer.checks.hanging import OFFSET_MM, Balance, balances, does, hinge_spans, mass_span, pull_span
from optimizer.checks.stated import Machine, read_machine
from optimizer.scenario import Scenario
from tests.unit.checks.machines import BASE, TWO_STAGES, built, machine, scenario

ONE = machine(built((125,), (125,)))
CENTRE = 363.650
DIFFERENCE, NEEDED = 81.851, 20.463
G = 9.80665
HINGED = 'mount = "hinge"\nat = [0, 0]\nhinge = { at = [-200, 0], mass = "20 kg" }'


def hung(mount: str = HINGED, *edits: tuple[str, str], spindle: str = 'at = [0, 363.65]\nmount = "fixed"') -> Scenario:
    """Return one stage straight up from a motor that hangs."""
    return scenario(
        BASE,
        ("positions = 3", "positions = 1"),
        ('name = "all work"\nfrom = 780\nto = 2500\nwant = 3', 'name = "work"\nfrom = 1300\nto = 1500'),
        ("speed = 1400", 'speed = 1400\npower = "0.75 kW"'),
        ('mount = "slide"', spindle),
        ('name = "motor"\n', f'name = "motor"\n{mount}\n'),
        *edits,
    )


def known(text: Scenario) -> Machine:
    """Return the machine with one stage."""
    return read_machine(text, ONE)


def only(text: Scenario) -> Balance:
    """Return the balance of the only mount."""
    (balance,), missing = balances(known(text))
    assert missing == ()
    return balance


def pulls(balance: Balance) -> tuple[float, float, float]:
    """Return pulls at rest, tight, slack with a new belt."""
    return float(balance.rest_n[0]), float(balance.tight_n[0]), float(balance.slack_n[0])


def told(text: Scenario) -> dict[str, Check]:
    """Return the checks of the mount by what follows the comma of their names."""
    found = (check for check in check_design(read_machine(text, ONE)) if check.name.startswith("pull of the mount"))
    return {check.name.split(", ")[1]: check for check in found}


def why(text: Scenario) -> dict[str, str]:
    """Return why mounts are not looked at, by place."""
    return {
        item.where: item.why for item in skipped_checks(read_machine(text, ONE)) if item.name == "pull of the mount"
    }


def test_a_motor_hangs_on_both_strands() -> None:
    """20 kg on 200 mm are 39.227 N·m; arms of 137.5 and 262.5 mm make 400 mm: 98.07 N a strand at rest."""
    balance = only(hung())
    assert (float(balance.levers.tight[0]), float(balance.levers.slack[0])) == pytest.approx((0.1375, 0.2625), abs=2e-6)
    slack = (20 * G * 0.2 - DIFFERENCE * 0.1375) / 0.4
    assert pulls(balance) == pytest.approx((20 * G / 2, slack + DIFFERENCE, slack), abs=2e-3)
    assert float(balance.needed_slack_n[0]) == pytest.approx(NEEDED, abs=1e-3)


def test_the_power_at_which_it_slips_is_where_the_slack_strand_pulls_no_more_than_it_needs() -> None:
    """39.227 N·m·4/(5·0.1375 + 0.2625) = 165.16 N at 9.163 m/s: 1.5134 kW."""
    assert float(only(hung()).carries_kw()[0]) == pytest.approx(39.2266 * 4 / 0.95 * 9.1630 / 1000, rel=1e-4)


def test_the_other_sense_of_rotation_slackens_it() -> None:
    """Clockwise the right strand is the tight one, 262.5 mm from the hinge."""
    balance = only(hung(HINGED, ("speed = 1400", 'speed = 1400\nturns = "clockwise"')))
    slack = (20 * G * 0.2 - DIFFERENCE * 0.2625) / 0.4
    assert pulls(balance)[2] == pytest.approx(slack, abs=2e-3)


def test_a_crossed_belt_is_tight_where_the_motor_draws_it_in() -> None:
    """It leaves the motor's pulley on the left as an open one does, so that the tight strand starts nearer the hinge.

    Crossed strands lean by asin(D/C): from ±R·cos a they pull with an arm of 200·cos a ± R about a hinge 200 mm left.
    """
    edits = (
        ("slip = 0", 'slip = 0\nrun = "crossed"'),
        ('belt = { section = "A", lengths = [1120] }', 'belt = { section = "round 8", lengths = [1120] }'),
    )
    belt = machine(built((125,), (125,)).model_copy(update={"section": "round 8", "datum_length_mm": 1180.0}))
    pair = read_machine(hung(HINGED, *edits), belt).pairs[0]
    size, centre = pair.driver.pitch_mm[0], pair.centres_mm[0]
    text = hung(HINGED, *edits, spindle=f'at = [0, {centre!r}]\nmount = "fixed"')
    (balance,), _ = balances(read_machine(text, belt))
    lean = (1 - (size / centre) ** 2) ** 0.5
    arms = (float(balance.levers.tight[0]), float(balance.levers.slack[0]))
    assert arms == pytest.approx((0.2 * lean - size / 2000, 0.2 * lean + size / 2000), abs=1e-9)


def test_masses_add_where_they_are() -> None:
    """Motor of 12 kg at its axis, plate of 5 kg balancing 80 mm right of the hinge: (12·200 + 5·80)·g/400 mm."""
    mount = 'mount = "hinge"\nat = [0, 0]\nhinge = { at = [-200, 0], mass = "5 kg", centre = [-120, 30] }'
    balance = only(hung(mount, ("speed = 1400", 'speed = 1400\nmass = "12 kg"')))
    assert pulls(balance)[0] == pytest.approx((12 * 200 + 5 * 80) * G / 400, abs=2e-3)


def test_a_spring_draws_with_its_own_arm() -> None:
    """100 N straight down, 300 mm right of the hinge: 30 N·m more make 75 N more a strand."""
    mount = HINGED.replace('mass = "20 kg"', 'mass = "20 kg", spring = { pull = 100, at = [100, 0], to = [100, -250] }')
    assert pulls(only(hung(mount)))[0] == pytest.approx(20 * G / 2 + 75, abs=2e-3)


def test_a_locked_mount_keeps_its_pull_but_for_the_centrifugal_one() -> None:
    """98.07 N at rest; running, m·v² less (m from the catalogue, 9.163 m/s), the strands half the load either way."""
    balance = only(hung(f"{HINGED}\nlocked = true"))
    mass = known(hung()).pairs[0].section.kg_per_m
    press = 20 * G / 2 - mass * 9.1630**2
    assert pulls(balance) == pytest.approx((20 * G / 2, press + DIFFERENCE / 2, press - DIFFERENCE / 2), abs=5e-3)
    assert float(balance.carries_kw()[0]) == pytest.approx(2 * press * 4 / 6 * 9.1630 / 1000, rel=1e-4)


def test_weight_on_the_wrong_side_pulls_nothing() -> None:
    """A hinge right of both strands with the motor between: the weight still draws down; beyond them it slackens."""
    right = HINGED.replace("[-200, 0]", "[200, 0]")
    assert pulls(only(hung(right)))[0] == pytest.approx(20 * G / 2, abs=2e-3)
    above = hung('mount = "hinge"\nat = [0, 0]\nhinge = { at = [-200, 0], mass = "20 kg", centre = [-300, 0] }')
    assert pulls(only(above))[0] == 0.0
    assert not told(above)["least"].passed
    assert mass_span(only(above)) is None
    assert pull_span(only(above)) is not None


def test_a_slide_shares_its_pull_without_places() -> None:
    """200 N along the line of centres between two equal pulleys: 100 N a strand; with a cone less by the lean."""
    balance = only(hung('mount = "slide"\npull = "200 N"', spindle='mount = "fixed"'))
    assert pulls(balance) == pytest.approx((100.0, 100 + DIFFERENCE / 2, 100 - DIFFERENCE / 2), abs=1e-3)
    assert mass_span(balance) is None
    text = scenario(BASE, ('mount = "slide"', 'mount = "slide"\npull = "200 N"'))
    (cone,), _ = balances(read_machine(text, machine()))
    assert float(cone.rest_n[0]) == pytest.approx(100 / (1 - (35 / 361.957) ** 2) ** 0.5, abs=1e-3)
    assert float(cone.rest_n[1]) == pytest.approx(100.0)


def test_a_spring_gives_less_as_the_shafts_come_apart() -> None:
    """From 300 N at belt-on (342.770) to 230 N after 70 mm of travel: 279.12 N at 363.650, half of it a strand."""
    balance = only(hung('mount = "slide"\npull = ["300 N", "230 N"]', spindle='mount = "fixed"'))
    assert pulls(balance)[0] == pytest.approx((300 - (CENTRE - 342.770)) / 2, abs=2e-3)
    worn = [state[0].when for state in balance.scene.states].index("worn out")
    assert float(balance.rest_n[worn]) == pytest.approx((300 - (394.450 - 342.770)) / 2, abs=2e-3)


def test_a_slide_askew_pulls_the_strands_harder() -> None:
    """A motor slides straight left, its spindle 200 mm right and up by sqrt(C² − 200²): cosine 200/C of a strand."""
    up = (CENTRE**2 - 200**2) ** 0.5
    mount = 'mount = "slide"\nat = [0, 0]\ndirection = 180\npull = "110 N"'
    balance = only(hung(mount, spindle=f'at = [200, {up:.4f}]\nmount = "fixed"'))
    assert pulls(balance)[0] == pytest.approx(55 * CENTRE / 200, abs=2e-3)


def test_a_swinging_spindle_is_held_back_by_the_work() -> None:
    """The work's moment takes up the belt's, so that both strands bear as if their difference pulled at the axis."""
    text = hung(
        "at = [0, 0]",
        spindle='at = [0, -363.65]\nmount = "hinge"\nhinge = { at = [-250, -363.65], mass = "15 kg" }',
    )
    balance = only(text)
    rest, tight, slack = pulls(balance)
    assert rest == pytest.approx(15 * G * 250 / 500, abs=2e-3)
    assert (tight + slack) * 0.25 == pytest.approx(15 * G * 0.25, abs=2e-3)


FRAME = (
    ("speed = 1400", 'speed = 1400\npower = "0.75 kW"\nmass = "12 kg"'),
    (
        'name = "countershaft"\nmount = "slide"',
        'name = "countershaft"\nat = [0, 0]\nmount = "hinge"\n'
        'hinge = { at = [-300, 0], mass = "10 kg", centre = [-100, 0] }',
    ),
    ('name = "spindle"\nmount = "slide"', 'name = "spindle"\nat = [0, 363.65]'),
)
PAIR = ("positions = 3", "positions = 1"), ("positions = 2", "positions = 1")
TWO = machine(built((125,), (125,)), built((125,), (125,), key="stage[1]"))


def two(motor: str) -> dict[str, Balance]:
    """Return the balances of a countershaft frame with a spindle straight above it, by mount."""
    text = scenario(TWO_STAGES, *PAIR, *FRAME, ('[[stage]]\nfrom = "motor"', f'{motor}\n[[stage]]\nfrom = "motor"'))
    found, _ = balances(read_machine(text, TWO))
    return {balance.scene.mount.name: balance for balance in found}


def test_a_riding_motor_weighs_on_the_second_belt_and_its_own_belt_does_not() -> None:
    """Motor 363.65 mm left of the countershaft, beyond the hinge: it takes 12·63.65 off the frame's 10·200 kg·mm."""
    motor = '[[shaft]]\nname = "motor"\nat = [-363.65, 0]\nmount = "slide"\non = "countershaft"\npull = "150 N"'
    found = two(motor)
    assert set(found) == {"motor", "countershaft"}
    assert pulls(found["countershaft"])[0] == pytest.approx((10 * 200 - 12 * 63.65) * G / 600, abs=5e-3)
    assert pulls(found["motor"])[0] == pytest.approx(75.0, abs=2e-3)


def test_a_motor_hung_on_the_frame_draws_its_own_belt_and_weighs_on_the_other() -> None:
    """Its hinge 50 mm right of and 200 below its axis: 12·50 over arms of 262.5 + 137.5 mm; the frame as before."""
    motor = (
        '[[shaft]]\nname = "motor"\nat = [-363.65, 0]\nmount = "hinge"\non = "countershaft"\n'
        "hinge = { at = [-313.65, -200] }"
    )
    found = two(motor)
    assert pulls(found["motor"])[0] == pytest.approx(12 * 50 * G / 400, abs=2e-3)
    assert pulls(found["countershaft"])[0] == pytest.approx((10 * 200 - 12 * 63.65) * G / 600, abs=5e-3)


def test_a_belt_from_the_frame_below_pulls_on_the_pivoting_frame() -> None:
    """Motor straight below, its belt drawn by 150 N down the line: 150·300 N·mm more on the 600 mm of both strands."""
    motor = '[[shaft]]\nname = "motor"\nat = [0, -363.65]\nmount = "slide"\npull = "150 N"'
    found = two(motor)
    assert pulls(found["countershaft"])[0] == pytest.approx((10 * 200 * G + 150 * 300) / 600, abs=5e-3)
    tight, slack = pulls(found["countershaft"])[1:]
    # Turning anticlockwise, the left strand of belt 1 is drawn in by the motor, tight at x = -62.5 of the countershaft
    # below it; of belt 2 the left one is drawn in by the countershaft: arms of 237.5 (tight), 362.5 mm (slack).
    tight_1, slack_1 = pulls(found["motor"])[1:]
    moment = 10 * G * 200 + tight_1 * 237.5 + slack_1 * 362.5
    assert tight * 237.5 + slack * 362.5 == pytest.approx(moment, abs=2.0)


def test_checks_name_the_position_and_the_speed() -> None:
    """With 5 kg the slack strand pulls nothing near what it needs; with 80 kg both strands pull too hard."""
    light, right, heavy = (told(hung(HINGED.replace('"20 kg"', mass))) for mass in ('"5 kg"', '"20 kg"', '"80 kg"'))
    assert [check["least"].passed for check in (light, right, heavy)] == [False, True, True]
    assert [check["greatest"].passed for check in (light, right, heavy)] == [True, True, False]
    assert light["least"].where == "stage[0], position 1 at 1400 rpm"
    assert light["least"].kind == heavy["greatest"].kind == "advice"
    assert right["least"].limit == pytest.approx(NEEDED, abs=1e-3)


@pytest.mark.parametrize(
    ("text", "where", "reason"),
    [
        (hung(HINGED.replace(', mass = "20 kg"', "")), "motor", "what hangs on the hinge of motor is not stated"),
        (hung('mount = "hinge"\nat = [0, 0]'), "motor", "the place of the hinge of motor is not stated (hinge.at)"),
        (hung(HINGED, spindle='mount = "fixed"'), "motor", "of spindle, its place is not stated (at)"),
        (hung('mount = "slide"'), "motor", "the pull that draws it is not stated (pull)"),
        (
            hung(HINGED, spindle='at = [0, 363.65]\nmount = "slide"'),
            "spindle",
            "every belt that it changes is drawn taut by another mount",
        ),
        (hung(HINGED, ('power = "0.75 kW"\n', "")), "motor", "what its belt must carry is not known"),
    ],
)
def test_what_is_missing_is_said(text: Scenario, where: str, reason: str) -> None:
    """Each mount that is not looked at is listed with what is missing."""
    assert reason in why(text)[where]


def test_the_masses_told_are_just_enough_and_just_not_too_much() -> None:
    """At either end of what may hang there one check is met without margin."""
    span = mass_span(only(hung(HINGED.replace('"20 kg"', '"5 kg"'))))
    assert span is not None and 0 < span.least < span.most
    for more, name in ((span.least, "least"), (span.most, "greatest")):
        check = told(hung(HINGED.replace('"20 kg"', f'"{5 + more!r} kg"')))[name]
        assert check.margin == pytest.approx(0.0, abs=1e-6)
        assert does(only(hung(HINGED.replace('"20 kg"', f'"{5 + more!r} kg"'))))


@pytest.mark.parametrize("locked", ["", "\nlocked = true"])
def test_a_spring_as_strong_as_told_does(locked: str) -> None:
    """A slide without a pull is told the whole of it: with either end of it, one check is met without margin."""
    bare = only(hung(f'mount = "slide"{locked}', spindle='mount = "fixed"'))
    span = pull_span(bare)
    assert bare.unstated and span is not None
    for pull, name in ((span.least, "least"), (span.most, "greatest")):
        check = told(hung(f'mount = "slide"\npull = "{pull!r} N"{locked}', spindle='mount = "fixed"'))[name]
        assert check.margin == pytest.approx(0.0, abs=1e-6)


def test_the_hinge_is_told_where_it_would_do() -> None:
    """Every place tried does within the spans and not beside them; the line is level unless stated."""
    text = hung(HINGED.replace('"20 kg"', '"8 kg"').replace("[-200, 0]", "[-200, 20]"))
    spans = hinge_spans(known(text), only(text))
    assert spans
    for span in spans:
        for offset, fits in ((span.least, True), (span.most, True), (span.least - OFFSET_MM, False)):
            x = -200 + offset
            moved = HINGED.replace('"20 kg"', '"8 kg"').replace("[-200, 0]", f"[{x}, 20]")
            if -400 <= x < 0:
                assert does(only(hung(moved))) is fits
