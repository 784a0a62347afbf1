"""What papers and screens say of power, torque and pulls."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import Table, plain
from optimizer.documents.figures import HP_KW, Units, place_words, rpm
from optimizer.records.mechanics import BeltLoadSheet, CarryingSheet, TorqueSheet
from optimizer.records.sheet import MachineSheet

__all__ = [
    "carrying_paper",
    "grip_words",
    "load_sources",
    "load_table",
    "pull_table",
    "torque_table",
    "torque_unit",
    "torque_words",
]


LBF_FT_NM = 0.3048 * 4.4482216152605
"""One pound-force foot."""
LBF_N = 4.4482216152605
FT_MIN_M_S = 0.3048 / 60


def torque_words(torque_nm: float | None, units: Units) -> str:
    """Return a torque with three digits, in pound-force feet where the maker works in inches.

    Examples
    --------
    >>> torque_words(12.345, "mm"), torque_words(13.5582, "in"), torque_words(None, "mm")
    ('12.3', '10.0', '')
    """
    if torque_nm is None:
        return ""
    return _figure(torque_nm / LBF_FT_NM if units == "in" else torque_nm)


def torque_table(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Table:
    """Return usable torque and grip of every speed, with what limits it and the belt that slips first."""
    heads = ("speed", "rpm", f"torque {torque_unit(units)}", "limited by", "grip", "first to slip")
    return Table(heads, tuple(_torque(row, machine, units) for row in carrying.speeds))


def _torque(row: TorqueSheet, machine: MachineSheet, units: Units) -> tuple[str, ...]:
    limited = row.limited_by if row.limited_by in ("motor", "") else "belt"
    grip = "" if row.grip is None else f"{row.grip:.2f}"
    first = f"{place_words(row.slips_first, machine)}, position {row.slips_position}" if row.slips_first else ""
    return (str(row.number), rpm(row.rpm), torque_words(row.torque_nm, units), limited, grip, first)


def pull_table(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how hard each belt pulls, by stage and position, where it carries least there."""
    force = "lbf" if units == "in" else "N"
    heads = (
        "belt of",
        "position",
        "at rpm",
        *(f"{what} {force}" for what in ("at rest", "tight", "slack", "on shaft")),
    )
    speeds = {row.number: row.rpm for row in carrying.speeds}
    rows = (
        (place_words(load.key, machine), str(load.position), rpm(speeds[load.number]), *_pulls(load, units))
        for load in _worst(carrying.belts)
    )
    return Table(heads, tuple(rows))


def load_table(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Table:
    """Return what each belt carries, how it runs, who says so, by stage and position, where it carries least there."""
    power = "hp" if units == "in" else "kW"
    heads = (
        "belt of",
        "position",
        "at rpm",
        "belt ft/min" if units == "in" else "belt m/s",
        "wrap °",
        "bends 1/s",
        f"carries {power}",
        f"must {power}",
        "grip",
        "by",
    )
    speeds = {row.number: row.rpm for row in carrying.speeds}
    sources = load_sources(carrying)
    rows = (
        (
            place_words(load.key, machine),
            str(load.position),
            rpm(speeds[load.number]),
            _figure(load.speed_m_s / FT_MIN_M_S if units == "in" else load.speed_m_s),
            f"{load.wrap_deg:.0f}",
            f"{load.bends_per_s:.1f}",
            _power(load.carries_kw, units),
            "" if load.must_kw is None else _power(load.must_kw, units),
            "" if load.grip is None else f"{load.grip:.2f}",
            f"source {sources.index(load.source) + 1}",
        )
        for load in _worst(carrying.belts)
    )
    return Table(heads, tuple(rows))


def load_sources(carrying: CarryingSheet) -> list[str]:
    """Return the sources that `load_table` calls by a number, in the order of the numbers."""
    return list(dict.fromkeys(load.source for load in _worst(carrying.belts)))


def _pulls(load: BeltLoadSheet, units: Units) -> tuple[str, ...]:
    pulls = (load.pretension_n, load.tight_n, load.slack_n, load.shaft_n)
    return tuple("" if pull is None else _figure(pull / LBF_N if units == "in" else pull) for pull in pulls)


def _worst(belts: tuple[BeltLoadSheet, ...]) -> list[BeltLoadSheet]:
    """Return, for every position of a stage, the speed at which its belt has the least to spare."""
    found: dict[tuple[str, int], BeltLoadSheet] = {}
    for load in belts:
        known = found.get((load.key, load.position))
        if known is None or _spare(load) < _spare(known):
            found[load.key, load.position] = load
    return [found[key] for key in sorted(found)]


def _spare(load: BeltLoadSheet) -> float:
    return load.grip if load.grip is not None else load.carries_kw


def grip_words(carrying: CarryingSheet) -> str:
    """Return the grip in a sentence."""
    if carrying.grip is None:
        return "What the belts must carry is not stated, so that nothing is said of grip."
    worst = min((row for row in carrying.speeds if row.grip is not None), key=lambda row: row.grip or 0.0)
    meaning = (
        "every belt carries what it must"
        if carrying.grip >= 1
        else "below 1 a belt slips before the full power is through"
    )
    return f"Grip {carrying.grip:.2f}, least at {rpm(worst.rpm)} rpm: {meaning}."


def carrying_paper(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield the section of the design sheet."""
    yield "## Power and pulls"
    yield "\n".join(f"- **{line}**" for line in carrying.cautions)
    yield grip_words(carrying) + (
        f" Duty factor {carrying.duty:g}. Torque is that of the spindle, the least of motor and belts; the losses that "
        "are stated of fixed stages are taken off, those of belts and bearings are not."
    )
    yield torque_table(carrying, machine, units).markdown()
    yield "Each belt at the speed where it has least to spare; of several sources the lowest figure counts."
    yield load_table(carrying, machine, units).markdown()
    yield "\n".join(f"- source {n}: {plain(source)}" for n, source in enumerate(load_sources(carrying), 1))
    if all(load.pretension_n is None for load in carrying.belts):
        return
    yield (
        "How hard they pull, for the power they must carry, or can where that is less: each strand at rest, which is "
        "how tight the belt is put on, both strands while it carries, their pull on the smaller pulley's shaft."
    )
    yield pull_table(carrying, machine, units).markdown()


def torque_unit(units: Units) -> str:
    """Return the unit of torques."""
    return "lbf ft" if units == "in" else "N m"


def _power(kw: float, units: Units) -> str:
    return _figure(kw / HP_KW if units == "in" else kw)


def _figure(value: float) -> str:
    """Return three digits: ratings are no finer.

    Examples
    --------
    >>> _figure(12345.0), _figure(2.0), _figure(0.0831)
    ('12300', '2.00', '0.0831')
    """
    return f"{float(f'{value:.3g}'):.0f}" if abs(value) >= 99.95 else f"{value:#.3g}"
