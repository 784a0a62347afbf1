"""Power, torque and pulls: what belts carry, what is left at the spindle, what slips first."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import MARKDOWN, PAGE, TERMINAL, Lines, Rank, Rows, Section, Table, Text, table_of
from optimizer.documents.figures import Units, amount, decimals, place_words, rpm, unit_of
from optimizer.records.carrying import BeltLoadSheet, CarryingSheet
from optimizer.records.sheet import MachineSheet

__all__ = ["carrying_sections", "grip_words", "load_table", "pull_table", "torque_table"]


def carrying_sections(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Iterator[Section]:
    """Yield torque and grip by speed, then every belt where it has least to spare."""
    torque, said = torque_table(carrying, machine, units), grip_words(carrying)
    yield Section("Power", (Rows(torque, rank=Rank.ANSWER), Text(said, rank=Rank.ANSWER)), only=TERMINAL)
    sources = [f"source {n}: {source}" for n, source in enumerate(_load_sources(carrying), 1)]
    loads, pulls = load_table(carrying, machine, units), pull_table(carrying, machine, units)
    blocks = [
        Lines(carrying.cautions, look="cautions"),
        Text(
            f"{said} Duty factor {carrying.duty:g}. Torque is that of the spindle, the least of motor and belts; the "
            "losses that are stated of fixed stages are taken off, those of belts and bearings are not.",
            only=MARKDOWN,
        ),
        Rows(torque, only=MARKDOWN),
        Text(
            "Each belt at the speed where it has least to spare; of several sources the lowest figure counts.",
            only=MARKDOWN,
        ),
        Rows(loads, "Each belt where it has least to spare"),
        Lines(sources, rank=Rank.PROOF),
    ]
    if any(load.pretension_n is not None for load in carrying.belts):
        blocks += [
            Text(
                "How hard they pull, for the power they must carry, or can where that is less: each strand at rest, "
                "which is how tight the belt is put on, both strands while it carries, their pull on the smaller "
                "pulley's shaft.",
                only=MARKDOWN,
            ),
            Text(
                "How hard belts pull, for the power they must carry, or can where that is less: each strand at rest, "
                "both strands while they carry, and on the smaller pulley's shaft.",
                only=PAGE,
            ),
            Rows(pulls, "Pulls, where each belt has least to spare"),
        ]
    yield Section("Power and pulls", blocks, only=MARKDOWN)
    yield Section("Belts", blocks, only=PAGE)


def torque_table(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Table:
    """Return usable torque and grip of every speed, with what limits it and the belt that slips first."""
    return table_of(
        carrying.speeds,
        ("speed", lambda row: str(row.number)),
        ("rpm", lambda row: rpm(row.rpm)),
        (f"torque {unit_of('N m', units)}", lambda row: amount(row.torque_nm, "N m", units)),
        ("limited by", lambda row: row.limited_by if row.limited_by in ("motor", "") else "belt"),
        ("grip", lambda row: decimals(row.grip)),
        (
            "first to slip",
            lambda row: row.slips_first and f"{place_words(row.slips_first, machine)}, position {row.slips_position}",
        ),
    )


def pull_table(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how hard each belt pulls, by stage and position, where it carries least there."""
    force, speeds = unit_of("N", units), {row.number: row.rpm for row in carrying.speeds}
    return table_of(
        _worst(carrying.belts),
        ("belt of", lambda load: place_words(load.key, machine)),
        ("position", lambda load: str(load.position)),
        ("at rpm", lambda load: rpm(speeds[load.number])),
        (f"at rest {force}", lambda load: amount(load.pretension_n, "N", units)),
        (f"tight {force}", lambda load: amount(load.tight_n, "N", units)),
        (f"slack {force}", lambda load: amount(load.slack_n, "N", units)),
        (f"on shaft {force}", lambda load: amount(load.shaft_n, "N", units)),
    )


def load_table(carrying: CarryingSheet, machine: MachineSheet, units: Units) -> Table:
    """Return what each belt carries, how it runs, who says so, by stage and position, where it carries least there."""
    power, speeds = unit_of("kW", units), {row.number: row.rpm for row in carrying.speeds}
    sources = _load_sources(carrying)
    return table_of(
        _worst(carrying.belts),
        ("belt of", lambda load: place_words(load.key, machine)),
        ("position", lambda load: str(load.position)),
        ("at rpm", lambda load: rpm(speeds[load.number])),
        (f"belt {unit_of('m/s', units)}", lambda load: amount(load.speed_m_s, "m/s", units)),
        ("wrap °", lambda load: f"{load.wrap_deg:.0f}"),
        ("bends 1/s", lambda load: f"{load.bends_per_s:.1f}"),
        (f"carries {power}", lambda load: amount(load.carries_kw, "kW", units)),
        (f"must {power}", lambda load: amount(load.must_kw, "kW", units)),
        ("grip", lambda load: decimals(load.grip)),
        ("by", lambda load: f"source {sources.index(load.source) + 1}"),
    )


def _load_sources(carrying: CarryingSheet) -> list[str]:
    """Return the sources that `load_table` calls by a number, in the order of the numbers."""
    return list(dict.fromkeys(load.source for load in _worst(carrying.belts)))


def _worst(belts: tuple[BeltLoadSheet, ...]) -> list[BeltLoadSheet]:
    """Return, for every position of a stage, the speed at which its belt has the least to spare."""

    def spare(load: BeltLoadSheet) -> float:
        return load.grip if load.grip is not None else load.carries_kw

    places = sorted({(load.key, load.position) for load in belts})
    return [min((b for b in belts if (b.key, b.position) == place), key=spare) for place in places]


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
