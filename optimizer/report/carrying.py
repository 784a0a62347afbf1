"""What papers and screens say of power, torque and pulls."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.carrying import BeltLoadSheet, CarryingSheet, TorqueSheet
from optimizer.report.figures import Units, rpm
from optimizer.report.table import Table

__all__ = ["carrying_paper", "grip_words", "load_table", "torque_table", "torque_words"]

LBF_FT_NM = 0.3048 * 4.4482216152605
"""One pound-force foot."""
LBF_N = 4.4482216152605
HP_KW = 0.7456998715822702


def torque_words(torque_nm: float | None, units: Units) -> str:
    """Return a torque with three digits, in pound-force feet where the maker works in inches.

    Examples
    --------
    >>> torque_words(12.345, "mm"), torque_words(13.5582, "in"), torque_words(None, "mm")
    ('12.3', '10', '')
    """
    if torque_nm is None:
        return ""
    return _figure(torque_nm / LBF_FT_NM if units == "in" else torque_nm)


def torque_table(carrying: CarryingSheet, units: Units) -> Table:
    """Return usable torque and grip of every speed, with what limits it."""
    heads = ("speed", "rpm", f"torque {_torque_unit(units)}", "limited by", "grip")
    return Table(heads, tuple(_torque(row, units) for row in carrying.speeds))


def _torque(row: TorqueSheet, units: Units) -> tuple[str, ...]:
    limited = row.limited_by if row.limited_by in ("motor", "") else f"belt of {row.limited_by}"
    grip = "" if row.grip is None else f"{row.grip:.2f}"
    return (str(row.number), rpm(row.rpm), torque_words(row.torque_nm, units), limited, grip)


def load_table(carrying: CarryingSheet, units: Units) -> Table:
    """Return what each belt carries and how hard it pulls, by stage and position, where it carries least there."""
    force, power = ("lbf", "hp") if units == "in" else ("N", "kW")
    heads = (
        "belt of",
        "position",
        "at rpm",
        "belt m/s" if units != "in" else "belt ft/min",
        "wrap °",
        "bends 1/s",
        f"carries {power}",
        f"must {power}",
        f"at rest {force}",
        f"tight {force}",
        f"slack {force}",
        f"on shaft {force}",
        "source",
    )
    speeds = {row.number: row.rpm for row in carrying.speeds}
    rows = []
    for load in _worst(carrying.belts):
        pulls = (load.pretension_n, load.tight_n, load.slack_n, load.shaft_n)
        rows.append(
            (
                load.key,
                str(load.position),
                rpm(speeds[load.number]),
                _figure(load.speed_m_s / (0.3048 / 60) if units == "in" else load.speed_m_s),
                f"{load.wrap_deg:.0f}",
                f"{load.bends_per_s:.1f}",
                _power(load.carries_kw, units),
                "" if load.must_kw is None else _power(load.must_kw, units),
                *("" if pull is None else _figure(pull / LBF_N if units == "in" else pull) for pull in pulls),
                load.source,
            )
        )
    return Table(heads, tuple(rows))


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


def carrying_paper(carrying: CarryingSheet, units: Units) -> Iterator[str]:
    """Yield the section of the design sheet."""
    yield "## Power and pulls"
    yield "\n".join(f"- **{line}**" for line in carrying.cautions)
    yield grip_words(carrying) + (
        f" Duty factor {carrying.duty:g}. Torque is that of the spindle, the least of motor and belts; losses are not "
        "taken off."
    )
    yield torque_table(carrying, units).markdown()
    yield (
        "Each belt at the speed where it has least to spare. Pulls are for the power it must carry, or what it can "
        "where that is less: each strand at rest, both strands while it carries, their pull on the smaller pulley's "
        "shaft."
    )
    yield load_table(carrying, units).markdown()


def _torque_unit(units: Units) -> str:
    return "lbf ft" if units == "in" else "N m"


def _power(kw: float, units: Units) -> str:
    return f"{kw / HP_KW:.2f}" if units == "in" else f"{kw:.2f}"


def _figure(value: float) -> str:
    """Return three digits: ratings are no finer."""
    return f"{float(f'{value:.3g}'):.10g}"
