"""What the settings of switches are called wherever a speed is told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.records.sheet import MachineSheet, SwitchSheet

__all__ = [
    "other_ways",
    "setting_column",
    "setting_names",
    "setting_words",
    "settings_said",
    "switch_heads",
    "switch_lines",
]

SAME_RPM = 0.05
"""Speeds that differ by less read the same."""


def other_ways(machine: MachineSheet) -> Iterator[str]:
    """Yield a sentence for every speed that can be had, or nearly so, by other settings and positions as well."""
    for speed in machine.speeds:
        ways = []
        for way in speed.others:
            placed = [*setting_words(machine, way.settings)]
            placed += [f"belt {stage} on position {p}" for stage, p in enumerate(way.positions, 1)]
            ways.append(f"{', '.join(placed)}, {way.rpm:.1f} rpm")
        if ways:
            nearly = " nearly so" if any(abs(way.rpm - speed.rpm) >= SAME_RPM for way in speed.others) else ""
            yield f"Speed {speed.number}{nearly} also by {'; or '.join(ways)}."


def switch_heads(machine: MachineSheet) -> tuple[str, ...]:
    """Return what every switch is called at the head of a column, motor first."""
    return tuple(switch.name for switch in machine.switches)


def setting_names(machine: MachineSheet, settings: Sequence[int]) -> tuple[str, ...]:
    """Return what the settings of a speed are called, counted from 1, each in the column of its switch."""
    return tuple(switch.settings[s - 1] for switch, s in zip(machine.switches, settings, strict=True))


def setting_words(machine: MachineSheet, settings: Sequence[int]) -> tuple[str, ...]:
    """Return every switch with its setting, as a sentence names it: `motor at 1420 rpm`, `gear at ratio 0.16`."""
    names = setting_names(machine, settings)
    return tuple(f"{switch.name} at {name}" for switch, name in zip(machine.switches, names, strict=True))


def setting_column(machine: MachineSheet, settings: Sequence[int]) -> str:
    """Return all settings in one cell: `1420 rpm, ratio 0.16`."""
    return ", ".join(setting_names(machine, settings))


def settings_said(machine: MachineSheet, settings: Sequence[int]) -> str:
    """Return all settings in one piece, to stand before where the belts lie; nothing without switches."""
    return "".join(f"{words}, " for words in setting_words(machine, settings))


def switch_lines(machine: MachineSheet) -> tuple[str, ...]:
    """Return a line about every switch: what it is, its settings, the slowest first."""
    return tuple(_line(machine, switch) for switch in machine.switches)


def _line(machine: MachineSheet, switch: SwitchSheet) -> str:
    fixed = next((fixed for fixed in machine.fixed if fixed.key == switch.key), None)
    said = f"{', '.join(switch.settings[:-1])} or {switch.settings[-1]}"
    if fixed is None:
        return f"{switch.name.capitalize()}: switched to {said}"
    joins = f"{fixed.driver_shaft} to {fixed.driven_shaft}{', reversing' if fixed.reverses else ''}"
    return f"{switch.name.capitalize()}, {joins}: {said}, one at a time, shifted at rest only"
