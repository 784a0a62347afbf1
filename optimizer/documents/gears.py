"""Fixed stages: gears, couplings, switches."""

from __future__ import annotations

from optimizer.documents.blocks import (
    MARKDOWN,
    PAGE,
    TERMINAL,
    Block,
    Lines,
    Rank,
    Rows,
    Section,
    Table,
    Text,
    table_of,
)
from optimizer.documents.figures import Units, amount, percent, rpm, unit_of
from optimizer.records.gears import GearSheet
from optimizer.records.sheet import MachineSheet
from optimizer.scenario.ratios import fixed_words, ratio_words

__all__ = ["GEAR_CAUTION", "gear_cautions", "gear_name", "gear_table", "gear_words", "gears_section"]


GEAR_CAUTION = (
    "What a gear may carry is its maker's word: count the service factor for shocks, starts and hours yourself. A belt "
    "is no fuse: where work can jam, fit a shear pin or a torque limiter. A worm gear runs hot: do not touch it after "
    "long work."
)
"""Stands beside fixed stages that are no couplings."""


def gear_name(gear: GearSheet) -> str:
    """Return what joins the two shafts: a coupling, a ratio, or several of which one is engaged."""
    if len(gear.ratios) == 1:
        return fixed_words(gear.ratios[0], gear.reverses)
    reversing = ", reversing" if gear.reverses else ""
    return f"fixed ratios {' or '.join(map(ratio_words, gear.ratios))}{reversing}"


def gear_words(gear: GearSheet, units: Units) -> str:
    """Return a fixed stage in a sentence, without its full stop."""
    said = f"{gear.driver_shaft} to {gear.driven_shaft}: {gear_name(gear)}"
    if len(gear.ratios) > 1:
        said += ", one at a time, shifted at rest only"
    if gear.efficiency < 1:
        said += f", passes on {percent(gear.efficiency, 0)} of the power"
    if gear.input_limit_rpm is not None:
        said += f"; driven at up to {rpm(gear.input_rpm)} rpm of {rpm(gear.input_limit_rpm)} allowed"
    hardest = gear.hardest
    if hardest is not None and gear.torque_limit_nm is not None:
        most, limit = (amount(torque, "N m", units) for torque in (hardest.torque_nm, gear.torque_limit_nm))
        said += (
            f"; gives up to {most} {unit_of('N m', units)} at {rpm(hardest.driven_rpm)} rpm of {limit} permitted, the "
            "maker's service factor not counted"
        )
    return said


def gear_table(gears: tuple[GearSheet, ...], units: Units) -> Table:
    """Return the fixed stages, what goes into them at most, what comes out."""
    unit = unit_of("N m", units)
    return table_of(
        gears,
        ("from", lambda gear: gear.driver_shaft),
        ("to", lambda gear: gear.driven_shaft),
        ("joined by", gear_name),
        ("passes on", lambda gear: percent(gear.efficiency, 0)),
        ("rpm in, at most", lambda gear: rpm(gear.input_rpm)),
        ("allowed", lambda gear: "not stated" if gear.input_limit_rpm is None else rpm(gear.input_limit_rpm)),
        (
            f"{unit} out, at most",
            lambda gear: "not known" if gear.hardest is None else amount(gear.hardest.torque_nm, "N m", units),
        ),
        ("permitted", lambda gear: amount(gear.torque_limit_nm, "N m", units) or "not stated"),
    )


def torque_out_table(gear: GearSheet, machine: MachineSheet, units: Units) -> Table:
    """Return the torque that can leave a fixed stage at every speed: at the motor's rated power, and in a jam."""
    unit, speeds = unit_of("N m", units), {speed.number: speed.rpm for speed in machine.speeds}
    return table_of(
        gear.torques,
        ("speed", lambda torque: str(torque.number)),
        ("rpm", lambda torque: rpm(speeds[torque.number])),
        (f"rpm of {gear.driven_shaft}", lambda torque: rpm(torque.driven_rpm)),
        (f"torque {unit}", lambda torque: amount(torque.torque_nm, "N m", units)),
        (f"in a jam {unit}", lambda torque: amount(torque.breakdown_nm, "N m", units)),
    )


def gear_cautions(gears: tuple[GearSheet, ...]) -> tuple[str, ...]:
    """Return what must be said beside fixed stages; nothing where all are couplings."""
    return () if all(gear.direct for gear in gears) else (GEAR_CAUTION,)


def gears_section(gears: tuple[GearSheet, ...], machine: MachineSheet, units: Units) -> Section:
    """Return what joins shafts by fixed ratios, with what goes in and what may come out."""
    cautions = gear_cautions(gears)
    said = Lines([*(f"{gear_words(gear, units)}." for gear in gears), *cautions], rank=Rank.ANSWER, only=TERMINAL)
    blocks: list[Block] = [said, *(Lines([line], look="cautions", only=MARKDOWN) for line in cautions)]
    blocks += (Text(line, look="caution", only=PAGE) for line in cautions)
    blocks.append(Rows(gear_table(gears, units), "Fixed stages, what goes in and comes out at most"))
    for gear in gears:
        if gear.torque_limit_nm is not None and gear.torques:
            between = f"{gear.driver_shaft} to {gear.driven_shaft}"
            blocks += [
                Text(
                    f"What the motor can bring out of {between} at its rated power, and at its breakdown torque in a "
                    "jam:",
                    only=MARKDOWN,
                ),
                Rows(
                    torque_out_table(gear, machine, units),
                    f"What can leave {between} before motor or belt gives way",
                ),
            ]
    return Section("Fixed stages", blocks)
