"""Fixed stages: gears, couplings, switches."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.blocks import Table, plain
from optimizer.documents.carrying import torque_unit, torque_words
from optimizer.documents.figures import Units, rpm
from optimizer.quantities.written import percent
from optimizer.records.mechanics import GearSheet
from optimizer.records.sheet import MachineSheet
from optimizer.scenario.stage import fixed_words, ratio_words

__all__ = ["GEAR_CAUTION", "gear_cautions", "gear_name", "gear_table", "gear_words", "gears_paper", "torque_out_table"]


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
        most, limit = (torque_words(torque, units) for torque in (hardest.torque_nm, gear.torque_limit_nm))
        said += (
            f"; gives up to {most} {torque_unit(units)} at {rpm(hardest.driven_rpm)} rpm of {limit} permitted, the "
            "maker's service factor not counted"
        )
    return said


def gear_table(gears: tuple[GearSheet, ...], units: Units) -> Table:
    """Return the fixed stages, what goes into them at most, what comes out."""
    unit = torque_unit(units)
    heads = ("from", "to", "joined by", "passes on", "rpm in, at most", "allowed", f"{unit} out, at most", "permitted")
    rows = (
        (
            gear.driver_shaft,
            gear.driven_shaft,
            gear_name(gear),
            percent(gear.efficiency, 0),
            rpm(gear.input_rpm),
            "not stated" if gear.input_limit_rpm is None else rpm(gear.input_limit_rpm),
            "not known" if gear.hardest is None else torque_words(gear.hardest.torque_nm, units),
            torque_words(gear.torque_limit_nm, units) or "not stated",
        )
        for gear in gears
    )
    return Table(heads, tuple(rows))


def torque_out_table(gear: GearSheet, machine: MachineSheet, units: Units) -> Table:
    """Return the torque that can leave a fixed stage at every speed: at the motor's rated power, and in a jam."""
    unit = torque_unit(units)
    heads = ("speed", "rpm", f"rpm of {gear.driven_shaft}", f"torque {unit}", f"in a jam {unit}")
    speeds = {speed.number: speed.rpm for speed in machine.speeds}
    rows = (
        (
            str(torque.number),
            rpm(speeds[torque.number]),
            rpm(torque.driven_rpm),
            torque_words(torque.torque_nm, units),
            torque_words(torque.breakdown_nm, units),
        )
        for torque in gear.torques
    )
    return Table(heads, tuple(rows))


def gear_cautions(gears: tuple[GearSheet, ...]) -> tuple[str, ...]:
    """Return what must be said beside fixed stages; nothing where all are couplings."""
    return () if all(gear.direct for gear in gears) else (GEAR_CAUTION,)


def gears_paper(gears: tuple[GearSheet, ...], machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield the section of the design sheet."""
    yield "## Fixed stages"
    yield from (f"- **{line}**" for line in gear_cautions(gears))
    yield gear_table(gears, units).markdown()
    for gear in gears:
        if gear.torque_limit_nm is not None and gear.torques:
            shafts = f"{plain(gear.driver_shaft)} to {plain(gear.driven_shaft)}"
            yield f"What the motor can bring out of {shafts} at its rated power, and at its breakdown torque in a jam:"
            yield torque_out_table(gear, machine, units).markdown()
