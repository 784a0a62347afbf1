"""What mechanics, surroundings and work say of a machine, as the sheet shows it."""

from __future__ import annotations

import platform
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, version
from math import isfinite, isinf
from typing import Literal

import numpy as np

from optimizer.checks import Check, Skipped, check_design, skipped_checks
from optimizer.checks.around import gap_kept, gaps_of, state_words
from optimizer.checks.carrying import BeltLoad, loads, torque_nm
from optimizer.checks.hanging import Balance, Span, balances, does, hinge_spans, mass_span, pull_span
from optimizer.checks.motor import run_ups
from optimizer.checks.shafts import KeySeat, flat_frame, gear_loads, input_rpm, key_seats, shaft_loads, shaft_names
from optimizer.checks.spindle import WorkAt, work_at
from optimizer.checks.stands import Stands, stands_of
from optimizer.checks.stated import Machine
from optimizer.checks.turning import turnings
from optimizer.mechanics.tension import pressing_force_n
from optimizer.quantities import RIM_SPEED, SurfaceUnit
from optimizer.quantities.digits import meaningful
from optimizer.records.design import ChangedSheet, CheckSheet, DefaultSheet, ScenarioSheet, SkippedSheet, Version
from optimizer.records.mechanics import (
    AroundSheet,
    BandSurface,
    BeltLoadSheet,
    CarryingSheet,
    FlatSheet,
    GapSheet,
    GearSheet,
    GearTorque,
    HangingSheet,
    HungSheet,
    KeySheet,
    MountSheet,
    ReachSheet,
    RunUpSheet,
    ShaftLoadSheet,
    ShaftsSheet,
    SpanSheet,
    SurfaceSheet,
    TorqueSheet,
    TurningSheet,
    WorkSheet,
    WorkSizeSheet,
)
from optimizer.scenario import Band, BeltStage, FixedStage, Scenario
from optimizer.scenario.band import shown_unit
from optimizer.scenario.chain import MOTOR

__all__ = [
    "around_sheet",
    "band_surface",
    "carrying_sheet",
    "cautions_of",
    "check_sheets",
    "finite",
    "gear_sheets",
    "hanging_sheet",
    "has_timber",
    "scenario_sheet",
    "shafts_sheet",
    "skipped_sheets",
    "versions_of",
    "work_size_sheet",
]

LOAD_CAUTIONS = (
    "These are ratings of belts in good order on true, clean grooves; oil, dust and a bad groove carry less.",
    "A slipping belt gets hot and can burn. Stop the machine, pull its plug, let it run down before you touch a belt.",
    "Pulls are for the belt alone: bearings, shafts and the motor's own bearing must stand them.",
)


def carrying_sheet(machine: Machine) -> CarryingSheet | None:
    """Return what belts carry, with the torque of every speed; nothing where no belt's power is known."""
    belts = loads(machine)
    if not belts:
        return None
    grips = [load.grip for load in belts if load.grip is not None]
    return CarryingSheet(
        grip=min(grips, default=None),
        duty=machine.scenario.work.duty,
        speeds=tuple(_torque(machine, number, belts) for number in range(1, len(machine.speeds) + 1)),
        belts=tuple(_belt(load) for load in belts),
        cautions=LOAD_CAUTIONS,
    )


def _torque(machine: Machine, number: int, belts: tuple[BeltLoad, ...]) -> TorqueSheet:
    told = torque_nm(machine, number, belts)
    mine = [load for load in belts if load.number == number]
    grips = [load.grip for load in mine if load.grip is not None]
    first = min(mine, key=lambda load: meaningful(load.carries_kw), default=None)
    return TorqueSheet(
        number=number,
        rpm=machine.speeds[number - 1][0],
        torque_nm=told[0] if told else None,
        limited_by=told[1] if told else "",
        grip=min(grips, default=None),
        slips_first=first.key if first else "",
        slips_position=first.position if first else None,
    )


def _belt(load: BeltLoad) -> BeltLoadSheet:
    pull = load.pull
    return BeltLoadSheet(
        key=load.key,
        position=load.position,
        number=load.number,
        entering_rpm=load.entering_rpm,
        speed_m_s=load.speed_m_s,
        wrap_deg=load.wrap_deg,
        bends_per_s=load.bends_per_s,
        carries_kw=load.carries_kw,
        source=load.source,
        must_kw=load.must_kw or None,
        grip=load.grip,
        pretension_n=pull.pretension_n if pull else None,
        tight_n=pull.tight_n if pull else None,
        slack_n=pull.slack_n if pull else None,
        shaft_n=pull.shaft_n if pull else None,
    )


def gear_sheets(machine: Machine) -> tuple[GearSheet, ...]:
    """Return every fixed stage of a machine, motor first."""
    return tuple(_gear(machine, stage) for stage in machine.scenario.chain if isinstance(stage, FixedStage))


def _gear(machine: Machine, stage: FixedStage) -> GearSheet:
    return GearSheet(
        key=machine.scenario.place_of(stage),
        driver_shaft=stage.from_shaft,
        driven_shaft=stage.to_shaft,
        ratios=tuple(sorted((*stage.slower, stage.ratio))),
        reverses=stage.reverses,
        efficiency=stage.efficiency,
        input_rpm=input_rpm(machine, stage),
        input_limit_rpm=_stated(stage.input_speed_rpm),
        torque_limit_nm=_stated(stage.torque_nm),
        peak_limit_nm=_stated(stage.peak_nm),
        torques=tuple(
            GearTorque(
                number=load.number,
                driven_rpm=load.driven_rpm,
                torque_nm=load.torque_nm,
                breakdown_nm=load.breakdown_nm,
            )
            for load in gear_loads(machine, stage)
        ),
    )


def _stated(limit: float) -> float | None:
    return None if isinf(limit) else limit


def hanging_sheet(machine: Machine) -> HangingSheet | None:
    """Return how the mounts draw their belts, nothing where no mount's place and no belt's power is known."""
    found = [balance for balance in balances(machine)[0] if _worth(balance)][::-1]
    told = tuple(_mount(machine, balance) for balance in found)
    return HangingSheet(mounts=told, cautions=tuple(_cautions(found))) if told else None


def _cautions(found: list[Balance]) -> Iterator[str]:
    """Yield the cautions on mounts like these: of what hangs where something does, of the motor where it moves."""
    hung = [balance for balance in found if balance.scene.mount.mount == "hinge" and not balance.locked]
    swings = any(MOTOR in balance.scene.moved for balance in found if balance.scene.mount.mount == "hinge")
    if hung:
        what = "motor" if any(MOTOR in balance.scene.moved for balance in hung) else "mount"
        yield (
            f"A hung {what} falls when its belt breaks or comes off, and lifts and slams when the machine jams: stop "
            "it with a chain or a bracket under it, and keep hands out from under it."
        )
        yield "Lift the weight off, or prop the mount, before the belt is moved; the machine at rest, its plug pulled."
    else:
        yield "Take the pull off the mount before the belt is moved; the machine at rest, its plug pulled."
    if swings:
        yield (
            "The motor's cable must give way as the motor swings, and not be what it hangs by: a competent person "
            "wires it."
        )
    elif any(MOTOR in balance.scene.moved for balance in found):
        yield "The motor's cable must give way as the motor moves: a competent person wires it."
    kinds = [f"stiff {kind}s" for kind in ("hinge", "slide") if any(b.scene.mount.mount == kind for b in found)]
    left_out = [*kinds, *(["a swinging motor"] if swings else []), "hard starts"]
    said = f"{', '.join(left_out)} are not in these figures: try it with a light cut first."
    yield said[0].upper() + said[1:]


def _worth(balance: Balance) -> bool:
    """Tell whether anything is known of a mount: its pulls, or what its belt asks for."""
    return not balance.unstated or not bool(np.all(np.isnan(balance.load.difference_n)))


def _mount(machine: Machine, balance: Balance) -> MountSheet:
    mount = balance.scene.mount
    known = not balance.unstated
    pulled, hung = pull_span(balance), mass_span(balance)
    hinge = mount.hinge if mount.mount == "hinge" else None
    return MountSheet(
        shaft=mount.name,
        kind="hinge" if mount.mount == "hinge" else "slide",
        key=machine.pairs[balance.scene.number].key,
        locked=mount.locked,
        unstated=balance.unstated,
        nearer=_nearer(balance),
        rows=_rows(balance),
        does=does(balance) if known and pulled is not None else None,
        pull_n=_span(pulled),
        mass_kg=_span(hung),
        hinge_mm=tuple(SpanSheet(**span._asdict(), some=True) for span in hinge_spans(machine, balance)),
        line_deg=None if hinge is None else hinge.line_deg,
        press_n=_press(balance),
    )


def _span(span: Span | None) -> SpanSheet | None:
    if span is None or not (isfinite(span.least) and isfinite(span.most)):
        return None
    return SpanSheet(least=span.least, most=span.most, some=span.some)


def _nearer(balance: Balance) -> Literal["tight", "slack", "even"] | None:
    if balance.scene.mount.mount != "hinge":
        return None
    tight, slack = abs(float(balance.levers.tight[0])), abs(float(balance.levers.slack[0]))
    if abs(tight - slack) < 1e-3:
        return "even"
    return "tight" if tight < slack else "slack"


def _rows(balance: Balance) -> tuple[HungSheet, ...]:
    """Return, for every position with a new and with a worn belt, the state in which its belt has least to spare."""
    spare = balance.slack_n - balance.needed_slack_n
    worst: dict[tuple[bool, int], int] = {}
    for row, state in enumerate(balance.scene.states):
        stand = state[balance.scene.number]
        place = (stand.when == "worn out", stand.position)
        if place not in worst or spare[row] < spare[worst[place]]:
            worst[place] = row
    return tuple(_row(balance, worst[place]) for place in sorted(worst))


def _row(balance: Balance, row: int) -> HungSheet:
    stand = balance.scene.states[row][balance.scene.number]
    known = not balance.unstated
    scale = 1000.0 if balance.scene.mount.mount == "hinge" else 1.0
    sense = -float(balance.levers.sense[row]) * scale
    return HungSheet(
        position=stand.position + 1,
        worn=stand.when == "worn out",
        rpm=float(balance.load.rpm[row]),
        tight_lever=_known(balance.levers.tight[row] * sense),
        slack_lever=_known(balance.levers.slack[row] * sense),
        rest_n=_known(balance.rest_n[row]) if known else None,
        tight_n=_known(balance.tight_n[row]) if known else None,
        slack_n=_known(balance.slack_n[row]) if known else None,
        needed_slack_n=_known(balance.needed_slack_n[row]),
        most_n=_known(balance.load.most_n[row]),
        carries_kw=_known(balance.carries_kw()[row]) if known else None,
        must_kw=_known(balance.load.must_kw[row]),
    )


def _known(value: float) -> float | None:
    return float(value) + 0.0 if isfinite(value) else None


def _press(balance: Balance) -> tuple[float, float] | None:
    """Return the force that tells a strand drawn just enough, and one drawn as hard as it may be, where that is more.

    Enough is meant for a mount that the load neither tightens nor slackens.
    """
    least, most = balance.load.press_n + balance.load.centrifugal_n, balance.load.most_n
    if np.all(np.isnan(least)) or np.nanmax(least) >= np.nanmin(most):
        return None
    return float(pressing_force_n(np.nanmax(least))), float(pressing_force_n(np.nanmin(most)))


TIMBER = "Turned timber can split: use sound, glued stock, true it again after a week, stand aside at the first run."
CAUTIONS = (
    "Belts and pulleys catch hair, sleeves, fingers: nothing here replaces fixed guards over belts, cones, shaft ends.",
    "Change a belt only with the machine at rest and its plug pulled.",
    "Wiring, switch, overload protection and earthing are for a competent electrician, under your local codes.",
    "The limits of the makers of belt, motor, bearings and pulleys come before any figure on this sheet.",
    "Bearings, welds, and shafts whose bearings nobody states are not checked here; figures from memory are marked so.",
    TIMBER,
    "Before the first cut, measure the belt, the centre distance and every bought pulley; they decide, not this sheet.",
)


def has_timber(scenario: Scenario) -> bool:
    """Tell whether some cone is of timber, or may be, as nobody says what it is made of."""
    sides = [side for stage in scenario.stages if isinstance(stage, BeltStage) for side in (stage.driver, stage.driven)]
    return any({"timber", None} & side.materials for side in sides)


def cautions_of(scenario: Scenario) -> tuple[str, ...]:
    """Return the cautions that apply to a machine."""
    return tuple(said for said in CAUTIONS if said != TIMBER or has_timber(scenario))


def versions_of(*libraries: str) -> tuple[Version, ...]:
    """Return the versions of this program, of Python, of the libraries named."""
    found = [Version(name="conewright", version=_version("conewright"))]
    found.append(Version(name="python", version=platform.python_version()))
    return tuple(found + [Version(name=name, version=_version(name)) for name in libraries])


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def scenario_sheet(scenario: Scenario) -> ScenarioSheet:
    """Return what is repeated of the maker's statements."""
    return ScenarioSheet(
        title=scenario.title,
        note=scenario.note,
        units=scenario.units,
        file=scenario.name,
        text=scenario.text,
        sha256=scenario.sha256,
        defaults=tuple(DefaultSheet(**used._asdict()) for used in scenario.defaults),
        changed_limits=tuple(ChangedSheet(**changed._asdict()) for changed in scenario.changed_limits),
    )


def check_sheets(machine: Machine) -> tuple[CheckSheet, ...]:
    """Return every check of a machine."""
    return tuple(_sheet(check) for check in check_design(machine))


def skipped_sheets(machine: Machine) -> tuple[SkippedSheet, ...]:
    """Return every check that could not be made."""
    return tuple(_skipped(item) for item in skipped_checks(machine))


def finite(value: float) -> float | None:
    """Return a figure, or nothing where it is not one.

    Examples
    --------
    >>> finite(1.5), finite(float("nan"))
    (1.5, None)
    """
    return value if abs(value) < float("inf") else None


def _sheet(check: Check) -> CheckSheet:
    return CheckSheet(
        name=check.name,
        kind=check.kind,
        where=check.where,
        value=finite(check.value),
        limit=check.limit,
        margin=finite(check.margin),
        unit=check.unit,
        source=check.source,
        passed=check.passed,
        note=check.note,
    )


def _skipped(item: Skipped) -> SkippedSheet:
    return SkippedSheet(name=item.name, where=item.where, why=item.why)


KEYED_TIMBER = (
    "Never key plywood alone: a metal hub or flange carries the key, screwed or bolted to the timber.",
    "True and balance wooden pulleys before they run; look for cracks before each use, and take a cracked or wobbling "
    "one off at once.",
)
SHAFT_CAUTIONS = (
    "Guard belts, pulleys and shaft ends; tie up hair, roll up sleeves, take off rings; nobody stands in the plane of "
    "a turning pulley.",
    "A competent person wires motor, switch and protection by the local code.",
)


def shafts_sheet(machine: Machine) -> ShaftsSheet:
    """Return what turning and pulling ask of shafts, keys and cones."""
    found, _ = shaft_loads(machine)
    return ShaftsSheet(
        loads=tuple(
            ShaftLoadSheet(**load._asdict(), diameter_mm=machine.scenario.shaft(load.shaft).diameter_mm)
            for load in found
        ),
        keys=tuple(_key(seat) for seat in key_seats(machine)),
        flats=tuple(_flats(machine)),
        cones=tuple(TurningSheet(**cone._asdict()) for cone in turnings(machine)),
        run_ups=tuple(RunUpSheet(**run._asdict() | {"seconds": finite(run.seconds)}) for run in run_ups(machine)),
        cautions=(*(KEYED_TIMBER if has_timber(machine.scenario) else ()), *SHAFT_CAUTIONS),
    )


def _flats(machine: Machine) -> Iterator[FlatSheet]:
    for name in shaft_names(machine):
        known = flat_frame(machine, name)
        if known is not None and known.flat is not None:
            yield FlatSheet(shaft=name, frame=known.name, over_flat_mm=known.flat.over_mm, source=known.flat.source)


def _key(seat: KeySeat) -> KeySheet:
    return KeySheet(
        shaft=seat.shaft,
        diameter_mm=seat.diameter_mm,
        width_mm=seat.key.width_mm,
        height_mm=seat.key.height_mm,
        shaft_depth_mm=seat.key.shaft_depth_mm,
        hub_depth_mm=seat.key.hub_depth_mm,
        over_shaft_mm=seat.seats.shaft_mm,
        over_hub_mm=seat.seats.hub_mm,
        length_mm=seat.length_mm,
        source=seat.key.source,
    )


def around_sheet(machine: Machine) -> AroundSheet | None:
    """Return where the shafts stand and what is near what, nothing where no places of shafts are stated."""
    if not any(shaft.at_mm for shaft in machine.scenario.shafts):
        return None
    stands = stands_of(machine)
    if isinstance(stands, str):
        return None
    gaps = sorted(gaps_of(machine, stands), key=lambda gap: meaningful(gap.gap_mm))
    return AroundSheet(
        least_gap_mm=gap_kept(machine),
        shafts=_reaches(machine, stands),
        unknown=tuple(stands.unknown),
        gaps=tuple(
            GapSheet(
                one=gap.one.name,
                other=gap.other.name,
                gap_mm=gap.gap_mm,
                placed=gap.placed,
                state=state_words(gap.state),
            )
            for gap in gaps
        ),
    )


def _reaches(machine: Machine, stands: Stands) -> tuple[ReachSheet, ...]:
    """Return from where to where every axis moves; a shaft that cannot be brought anywhere is left out."""
    found = []
    for name in dict.fromkeys(name for s in machine.scenario.chain for name in (s.from_shaft, s.to_shaft)):
        if name in stands.unknown:
            continue
        places = stands.shaft(machine.scenario.shaft(name))
        places = places[~np.isnan(places).any(axis=1)]
        if len(places):
            low, high = ((edge.round(6) + 0.0).tolist() for edge in (places.min(axis=0), places.max(axis=0)))
            found.append(ReachSheet(shaft=name, x_mm=(low[0], high[0]), y_mm=(low[1], high[1])))
    return tuple(found)


ROUGH = (
    "Rough, glued-up, cracked or unbalanced work starts at the slowest speed, whatever this table says, and is run "
    "faster only once it runs true. Stand out of its plane when it starts."
)
FAST = (
    "Never run a grinding wheel, disc, saw or bit above the speed marked on it, whatever this table says. Take it off, "
    "or lock the belt where it is, before anyone sets a faster speed."
)
HELD = (
    "Check before every start that work, chuck, faceplate or wheel are fast; tie up hair and sleeves, guard the eyes."
)


def work_size_sheet(machine: Machine) -> WorkSizeSheet | None:
    """Return what is told of work at every speed, nothing where the maker states nothing of it."""
    rows = work_at(machine)
    if not rows:
        return None
    wood = all(row.rule is not None and row.rule.name == "wood turning" and not row.surfaces for row in rows)
    return WorkSizeSheet(
        largest_mm=machine.scenario.work.largest_mm,
        work=tuple(map(_work, rows)),
        cautions=(ROUGH, HELD) if wood else (FAST, ROUGH, HELD),
    )


def band_surface(scenario: Scenario, band: Band) -> BandSurface | None:
    """Return what a band wants along the surface of its own diameters, nothing where it does not state both."""
    if band.work_mm is None or band.surface_speed_m_s is None:
        return None
    unit = shown_unit(scenario.units, band.surface_unit, scenario.work.surface_unit)
    low, high = band.surface_speed_m_s
    return BandSurface(
        of=band.of,
        diameter_mm=band.work_mm,
        wanted_m_s=(low, high),
        wanted=(_in_unit(low, unit), _in_unit(high, unit)),
        unit=unit,
        told=band.told_mm is not None,
        sets_edges=band.by_surface,
    )


def _work(row: WorkAt) -> WorkSheet:
    rule = row.rule
    return WorkSheet(
        number=row.number,
        rpm=row.rpm,
        band=row.band,
        rule=None if rule is None else rule.name,
        wanted_m_s=None if rule is None else (rule.least_m_s, rule.most_m_s),
        source="" if rule is None else rule.source,
        suited_mm=row.suited_mm,
        surfaces=tuple(
            SurfaceSheet(diameter_mm=size, speed_m_s=speed, speed=_in_unit(speed, row.unit), unit=row.unit)
            for size, speed in row.surfaces
        ),
        of=row.of,
        unit=row.unit,
        told=row.told,
    )


def _in_unit(speed_m_s: float, unit: SurfaceUnit) -> float:
    """Return a speed in a unit, rounded to a millionth, so that what was written reads as it was."""
    return round(speed_m_s / float(RIM_SPEED.words[unit]), 6)
