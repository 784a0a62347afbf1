"""What papers and screens say of mounts whose one movement changes several belts."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.quantities import show_length
from optimizer.records.settings import SharedSheet
from optimizer.records.sheet import MachineSheet
from optimizer.report.figures import Units
from optimizer.report.tables import place_words

__all__ = ["setting_lines"]


def setting_lines(machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield for every shared mount, in sentences without the last full stop, where it is set and what fits it."""
    for sheet in machine.shared:
        yield _words(sheet, machine, units)


def _words(sheet: SharedSheet, machine: MachineSheet, units: Units) -> str:
    belts = [place_words(key, machine) for key in sheet.stages]
    listed = f"{', '.join(belts[:-1])} and {belts[-1]}"
    counted = "along it" if sheet.kind == "slide" else "on the arc of its axis"
    on, low, high, out = (_signed(value, units) for value in (sheet.belt_on_mm, *sheet.running_mm, sheet.worn_out_mm))
    runs = f"it runs at {low}" if low == high else f"it runs from {low} to {high}"
    shared = any(stage.shared_driver for stage in machine.stages if stage.key in sheet.stages)
    two = "any two positions on different steps of the cone" if shared else "any two positions"
    common = (
        f"{two} run together over {show_length(round(sheet.common_mm, 3), units)} of it"
        if sheet.common_mm >= 0
        else f"some positions have no setting in common, by {show_length(round(-sheet.common_mm, 3), units)}"
    )
    return (
        f"One movement of the {sheet.kind} of {sheet.shaft} changes the belts of {listed}. Counted {counted} from its "
        f"stated place, {sheet.way}: belts on at {on}, {runs}, worn out at {out}; {common}"
    )


def _signed(value_mm: float, units: Units) -> str:
    shown = show_length(round(abs(value_mm), 2), units)
    return shown if round(abs(value_mm), 2) == 0 else f"{'+' if value_mm > 0 else '-'}{shown}"
