"""Machines altered by hand so that what is in hand no longer goes round: the checks must notice, and nothing else.

The machine is that of `machines.py`: drivers 90, 125, 160 mm datum, driven ones the other way round, belt A 1120.
"""

from __future__ import annotations

import pytest

from optimizer.checks import Check
from optimizer.checks.in_hand import belts_in_hand, discs_in_hand, idle_grooves, pieces_in_hand, steps_in_hand
from optimizer.checks.sizes import kept_places
from optimizer.checks.stated import Machine, read_machine
from optimizer.records.built import BuiltMachine
from optimizer.scenario import Scenario
from tests.unit.checks.machines import BASE, TWO_STAGES, built, failed, machine, named, scenario

FREE = "driver = { free = [80, 200] }"
FACING = "driven = { free = [80, 200] }"
Steps = tuple[float, ...]


def sheaf(steps: str, count: int = 1, section: str = "A") -> str:
    """Return a kind of sheave in hand as a maker states it."""
    return f'[[in_hand.sheave]]\nsection = "{section}"\nsteps = {steps}\ncount = {count}\n'


def nail(length: float, count: int = 1) -> str:
    """Return a kind of belt in hand as a maker states it."""
    return f'[[in_hand.belt]]\nsection = "A"\nlength = {length}\ncount = {count}\n'


def stated(*there: str, side: str = "sheaves_in_hand = true", base: str = BASE) -> Scenario:
    """Return a scenario whose drivers are what is in hand."""
    return scenario(base + "".join(there), (FREE, f"driver = {{ {side} }}"))


def pulleys(*driver: float) -> BuiltMachine:
    """Return the machine with drivers that are not turned."""
    stage = built(driver, (160, 125, 90))
    return machine(stage.model_copy(update={"driver_turned": (False,) * 3}))


def both(first: Steps, second: Steps, lengths: Steps = (1120, 1120)) -> BuiltMachine:
    """Return two stages with drivers that are not turned."""
    stages = []
    for number, (sizes, length) in enumerate(zip((first, second), lengths, strict=True)):
        stage = built(sizes, sizes[::-1], key=f"stage[{number}]", length=length)
        stages.append(stage.model_copy(update={"driver_turned": (False,) * len(sizes)}))
    return machine(*stages)


def only(text: Scenario, stages: BuiltMachine, name: str) -> Check:
    """Return the one check of a name."""
    (check,) = named(text, stages, name)
    return check


# Sheaves


@pytest.mark.parametrize(
    ("drawer", "drivers", "missing"),
    [
        ([sheaf("90"), sheaf("125"), sheaf("160")], (90, 125, 160), 0),
        ([sheaf("90"), sheaf("125"), sheaf("160")], (90, 125, 125), 1),
        ([sheaf("90"), sheaf("125", 2), sheaf("160")], (90, 125, 125), 0),
        ([sheaf("90"), sheaf("125", 2), sheaf("160")], (125, 125, 125), 1),
        # a double sheave is one piece
        ([sheaf("[90, 125]"), sheaf("160")], (90, 125, 160), 0),
        ([sheaf("[125, 90]"), sheaf("160")], (90, 125, 160), 0),
        ([sheaf("[90, 160]"), sheaf("125")], (90, 125, 160), 1),
        ([sheaf("[125, 125]"), sheaf("90")], (125, 90, 125), 1),
        # its other groove has no place over a step of another size: three grooves, one step of its own size
        ([sheaf("[100, 125, 100]"), sheaf("90"), sheaf("160")], (90, 125, 160), 1),
        # beyond the end it has
        ([sheaf("[160, 180]"), sheaf("90"), sheaf("125")], (90, 125, 160), 0),
        # not in the drawer at all, or for another belt
        ([sheaf("90"), sheaf("125")], (90, 125, 160), 1),
        ([sheaf("90"), sheaf("125"), sheaf("160", 9, "B")], (90, 125, 160), 1),
    ],
)
def test_a_sheave_used_more_often_than_it_is_there_is_noticed(
    drawer: list[str], drivers: tuple[float, ...], missing: int
) -> None:
    """The check counts the steps for which no sheave is left."""
    check = only(stated(*drawer), pulleys(*drivers), "sheaves in hand go round")
    assert (check.value, check.passed) == (missing, missing == 0)


def test_a_sheave_that_can_be_bought_is_never_missing() -> None:
    """With 125 under `ready`, three steps of it are fine."""
    drawer = stated(sheaf("125"), side="sheaves_in_hand = true, ready = [125]")
    assert only(drawer, pulleys(125, 125, 125), "sheaves in hand go round").passed


def test_nothing_else_fails_where_the_drawer_runs_out() -> None:
    """Two sheaves of 90 and one of 160 for 90, 160, 160 mm is one too few and breaks no other rule of the drawer."""
    text = stated(sheaf("90", 2), sheaf("160"), sheaf("125"))
    broken = failed(text, pulleys(90, 125, 160))
    assert "sheaves in hand go round" not in broken
    assert "ready pulleys as stated" not in broken
    assert failed(text, pulleys(90, 160, 160)).keys() >= {"sheaves in hand go round"}


@pytest.mark.parametrize(("count", "passed"), [(1, False), (2, True)])
def test_one_drawer_serves_both_stages(count: int, passed: bool) -> None:
    """The sheave of 160 on both shafts must be there twice."""
    drawer = stated(sheaf("90", 2), sheaf("125", 2), sheaf("160", count), base=TWO_STAGES)
    check = only(drawer, both((90, 160), (90, 125, 160)), "sheaves in hand go round")
    assert (check.passed, check.value) == (passed, 2 - count)


def test_a_double_sheave_is_not_split_between_shafts() -> None:
    """One piece of 90 and 160 cannot be the 90 of one shaft and the 160 of another."""
    drawer = [sheaf("125", 2), sheaf("100")]
    sizes = both((90, 125), (100, 125, 160))
    assert not only(stated(sheaf("[90, 160]"), *drawer, base=TWO_STAGES), sizes, "sheaves in hand go round").passed
    apart = stated(sheaf("90"), sheaf("160"), *drawer, base=TWO_STAGES)
    assert only(apart, sizes, "sheaves in hand go round").passed


def test_the_scarce_step_gets_the_sheave() -> None:
    """Where one side could buy what the other only has in hand, the one in hand is the other's."""
    text = scenario(
        BASE + sheaf("125"),
        (FREE, "driver = { sheaves_in_hand = true, ready = [90, 125, 160] }"),
        (FACING, "driven = { sheaves_in_hand = true, ready = [90, 160] }"),
    )
    stage = built((90, 125, 160), (160, 125, 90), turned=False)
    assert only(text, machine(stage), "sheaves in hand go round").passed
    assert steps_in_hand(read_machine(text, machine(stage))) == {("stage[0].driven", 1)}


def test_pieces_are_told_with_what_stands_idle() -> None:
    """The double of 90 and 125 is steps 1 and 2; of the double of 160 and 180 the 180, 186.6 over the rim, is idle."""
    text = stated(sheaf("[125, 90]"), sheaf("[160, 180]"))
    found = pieces_in_hand(read_machine(text, pulleys(90, 125, 160)))
    assert sorted((piece.kind, [place for _, place in piece.steps]) for piece in found) == [(0, [0, 1]), (1, [2])]
    assert [piece.idle_mm for piece in found if piece.kind == 0] == [()]
    assert [piece.idle_mm[0] for piece in found if piece.kind == 1] == pytest.approx([186.6])


def test_an_idle_groove_takes_room() -> None:
    """A double sheave with one groove beyond the end makes a cone of three steps as wide as four."""
    text = stated(sheaf("[160, 180]"), sheaf("90"), sheaf("125"))
    there = read_machine(text, pulleys(90, 125, 160))
    assert idle_grooves(there, there.pairs[0].driver) == 1
    plain = read_machine(stated(sheaf("[125, 160]"), sheaf("90")), pulleys(90, 125, 160))
    assert idle_grooves(plain, plain.pairs[0].driver) == 0
    rooms = [
        next(c.value for c in named(t, pulleys(90, 125, 160), "room along the shaft") if c.where == "motor")
        for t in (text, stated(sheaf("[125, 160]"), sheaf("90")))
    ]
    assert rooms[0] / rooms[1] == pytest.approx(4 / 3)


# Discs


SHELF = "[[in_hand.disc]]\ndiameter = {}\ncount = {}\n"


def shelf(*discs: tuple[float, int], side: str = "discs_in_hand = true") -> Scenario:
    """Return a scenario whose drivers are turned from discs in hand."""
    return stated(*(SHELF.format(size, count) for size, count in discs), side=side)


@pytest.mark.parametrize(
    ("discs", "missing"),
    [
        # over the rim 96.6, 131.6, 166.6 mm, with the truing of 4 mm: 100.6, 135.6, 170.6
        ([(180, 3)], 0),
        ([(180, 2)], 1),
        ([(101, 1), (136, 1), (171, 1)], 0),
        ([(101, 2), (171, 1)], 1),
        ([(101, 1), (170, 2)], 1),
        ([(136, 9)], 1),
        ([(100, 9), (171, 1)], 2),
    ],
)
def test_a_disc_used_twice_is_noticed(discs: list[tuple[float, int]], missing: int) -> None:
    """The check counts the steps for which no disc is large enough or left."""
    check = only(shelf(*discs), machine(), "discs in hand go round")
    assert (check.value, check.passed) == (missing, missing == 0)


def test_steps_that_bought_discs_do_for_need_none_in_hand() -> None:
    """With discs of 140 mm to be had only the step of 160 needs the one on the shelf; it is cut from that."""
    text = shelf((180, 1), side="discs_in_hand = true, blanks = [140]")
    check = only(text, machine(), "discs in hand go round")
    assert (check.passed, check.note) == (True, "1 steps come from discs in hand")
    assert discs_in_hand(read_machine(text, machine())) == {("stage[0].driver", 2): 180.0}


def test_no_disc_is_given_to_two_steps() -> None:
    """Two steps that would both do with the least disc get one disc each."""
    text = shelf((136, 1), (180, 2))
    assert discs_in_hand(read_machine(text, machine())) == {
        ("stage[0].driver", 2): 180.0,
        ("stage[0].driver", 1): 136.0,
        ("stage[0].driver", 0): 180.0,
    }


# Belts


def test_a_belt_that_cannot_be_bought_runs_on_one_stage() -> None:
    """Of 1133 mm there is one, the lists have 1120 alone: on two stages it is one too few."""
    sizes = both((90, 160), (90, 125, 160), (1133, 1133))
    plain = {"side": "free = [80, 200]", "base": TWO_STAGES}
    assert only(stated(nail(1133), **plain), sizes, "belts in hand go round").value == 1
    assert only(stated(nail(1133, 2), **plain), sizes, "belts in hand go round").passed
    one = both((90, 160), (90, 125, 160), (1133, 1120))
    assert only(stated(nail(1133), **plain), one, "belts in hand go round").passed


def test_a_belt_that_can_be_bought_is_marked_once() -> None:
    """Of 1120 mm there is one and more can be had: nothing is missing, and the first stage has the one in hand."""
    text = stated(nail(1120), side="free = [80, 200]", base=TWO_STAGES)
    sizes = both((90, 160), (90, 125, 160))
    assert named(text, sizes, "belts in hand go round") == []
    assert belts_in_hand(read_machine(text, sizes)) == (True, False)


def test_the_stage_that_cannot_buy_its_belt_gets_the_one_in_hand() -> None:
    """The first stage may buy 1120, the second only others: the one on the nail is the second's."""
    text = scenario(TWO_STAGES + nail(1120))
    second = TWO_STAGES.replace("lengths = [1120]", "lengths = [1000]")
    at = TWO_STAGES.index("lengths = [1120]") + len("lengths = [1120]")
    own = scenario(TWO_STAGES[:at] + second[len(TWO_STAGES[:at]) :] + nail(1120))
    sizes = both((90, 160), (90, 125, 160))
    assert belts_in_hand(read_machine(text, sizes)) == (True, False)
    assert belts_in_hand(read_machine(own, sizes)) == (False, True)
    assert only(own, sizes, "belts in hand go round").passed


def test_a_belt_of_another_section_or_length_is_not_in_hand() -> None:
    """Half a millimetre is the most that belts of one name differ by on paper."""
    for there in (nail(1120.6), nail(1120).replace('"A"', '"B"')):
        text = stated(there, side="free = [80, 200]")
        assert belts_in_hand(read_machine(text, machine())) == (False,)


# Cones of which some steps stand


def _kept(kept: str, sizes: Steps, turned: tuple[bool, ...], more: str = "") -> tuple[Scenario, BuiltMachine]:
    text = scenario(BASE, (FREE, f"driver = {{ kept = {kept}, free = [80, 200]{more} }}"))
    stage = built(sizes, (160, 125, 90)).model_copy(update={"driver_turned": turned})
    return text, machine(stage)


@pytest.mark.parametrize(
    ("kept", "sizes", "turned", "off"),
    [
        ('[90, "open", 160]', (90, 125, 160), (False, True, False), 0.0),
        ('[160, "open", 90]', (90, 125, 160), (False, True, False), 0.0),
        ('["open", 125, "open", 200]', (90, 125, 160), (True, False, True), 0.0),
        # a step that stands is changed, exchanged, turned
        ('[90, "open", 160]', (90, 125, 161), (False, True, False), 1.0),
        ('[90, "open", 160]', (160, 125, 90), (False, True, False), 0.0),
        ('[90, "open", 160]', (90, 125, 160), (False, True, True), 1e9),
        # an open step is said to be a pulley, of which there is none
        ('[90, "open", 160]', (90, 125, 160), (False, False, False), 1e9),
        # two steps that stand are not neighbours as they were
        ('["open", 90, 160]', (90, 125, 160), (False, True, False), 1e9),
    ],
)
def test_a_step_that_stands_cannot_change(kept: str, sizes: Steps, turned: tuple[bool, ...], off: float) -> None:
    """The check tells the greatest difference from the cone that exists, looked at from either end."""
    text, sizes_built = _kept(kept, sizes, turned)
    check = only(text, sizes_built, "kept cone as stated")
    assert check.value == pytest.approx(off)
    assert check.passed is (off == 0.0)


def test_only_steps_that_stand_are_kept() -> None:
    """Open steps are turned; the others are the cone's."""
    text, sizes = _kept('["open", 125, "open"]', (90, 125, 160), (True, False, True))
    read: Machine = read_machine(text, sizes)
    assert kept_places(read.pairs[0].driver) == {1}


def test_an_open_step_may_be_a_sheave_in_hand_which_is_counted() -> None:
    """A cone with one step standing takes two sheaves from the drawer, which must be there."""
    side = 'kept = ["open", 125, "open"], sheaves_in_hand = true'
    good, short = (stated(sheaf("90"), *more, side=side) for more in ([sheaf("160")], []))
    assert only(good, pulleys(90, 125, 160), "sheaves in hand go round").passed
    assert steps_in_hand(read_machine(good, pulleys(90, 125, 160))) == {("stage[0].driver", 0), ("stage[0].driver", 2)}
    assert only(short, pulleys(90, 125, 160), "sheaves in hand go round").value == 1
