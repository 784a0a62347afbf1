"""A machine that was checked again, on the terminal and as a text to keep with it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from optimizer.recheck.records import OptionSheet, Recheck
from optimizer.records.sheet import MachineSheet
from optimizer.report.document import json_text, schema_of
from optimizer.report.recheck_tables import (
    change_table,
    fit_table,
    fit_words,
    history_table,
    now_table,
    option_words,
    other_words,
    place_of,
    read_speed_table,
    series_words,
    shared_words,
    slip_table,
    speed_now_table,
    untold_words,
)
from optimizer.report.sentences import check_summary, troubles
from optimizer.report.table import Table, paragraph, plain
from optimizer.report.tables import check_table

__all__ = ["recheck_files", "recheck_json", "recheck_schema", "recheck_screen"]

KINDS = {"turn": "turn the rest", "skim": "skim", "belt": "another belt", "anew": "make a step anew"}
PITCH = "Diameters on the pitch line, where the belt runs; ± is twice the standard uncertainty of the readings."
SPEEDS = "Speeds from the sizes, with the slip that was stated and the motor's speed on its plate."
SET = "set: how the machine was switched, 1 the slowest; on: the positions of the belts"


def recheck_json(told: Recheck) -> str:
    """Return the result as JSON, keys in the order of the record."""
    return json_text(told.model_dump(mode="json"))


def recheck_schema() -> dict[str, Any]:
    """Return the JSON schema of the result."""
    return schema_of(Recheck)


def recheck_files(told: Recheck, machine: MachineSheet, division_mm: float) -> dict[str, bytes]:
    """Return the name and content of every file of the result."""
    texts = {"recheck.json": recheck_json(told), "recheck.md": _paper(told, machine, division_mm)}
    return {name: text.encode("utf-8") for name, text in texts.items()}


def recheck_screen(told: Recheck, machine: MachineSheet, division_mm: float) -> str:
    """Return the result as text of at most 80 columns: verdict, what to do, sizes, fit, speeds, checks.

    Parameters
    ----------
    told
        The result.
    machine
        The machine as it was designed.
    division_mm
        Finest division of the maker's rule, for inches [mm].
    """
    parts = [paragraph(told.title), paragraph(told.said)]
    for number, option in enumerate(told.options):
        title = f"{_title(number, option)}. Belts: {', '.join(option.belts)}"
        tables = (f"{word}, {told.units}\n{table.text()}" for word, table in _changes(option, told, division_mm))
        parts += [paragraph(title), *tables, paragraph(option_words(option), indent="  ")]
    if told.options and any(option.skim for option in told.options):
        parts.append(paragraph(told.cautions[0]))
    parts.append(f"Steps, {told.units}\n{now_table(told).text()}\n{paragraph(PITCH, indent='  ')}")
    parts += [paragraph(line, indent="  ") for line in _notes(told)]
    if history := history_table(told):
        parts.append(f"Earlier checks, {told.units}\n{history.text()}")
    fits = (paragraph(line, indent="  ") for line in _fits(told))
    parts.append("\n".join(("Belts", fit_table(told.now, told.units).text(), *fits)))
    lines = (paragraph(line, indent="  ") for line in (*_others(told), SPEEDS))
    parts.append("\n".join(("Speeds", speed_now_table(told.now).text(), *lines)))
    parts.append(paragraph(series_words(told), indent="  "))
    parts += _read(told)
    closing = (check_summary(told.now.checks), *troubles(told.now.checks, machine, told.units), *told.remarks)
    parts.append("\n".join(paragraph(line, indent="  ") for line in closing))
    return "\n\n".join(parts) + "\n"


def _title(number: int, option: OptionSheet) -> str:
    """Return what stands over one thing that could be done."""
    return f"{'Or' if number else 'Proposed'}: {KINDS[option.kind]}"


def _changes(option: OptionSheet, told: Recheck, division_mm: float) -> Iterator[tuple[str, Table]]:
    """Yield the tables of an option under what is done to their steps."""
    for word, changes in (("Skim", option.skim), ("Turn", option.turn), ("Make anew", option.anew)):
        if changes:
            yield word, change_table(changes, told.units, division_mm)


def _notes(told: Recheck) -> Iterator[str]:
    """Yield what is said of steps, of those of which the same is said together."""
    of_note: dict[str, list[str]] = {}
    for step in told.steps:
        if step.note:
            of_note.setdefault(step.note, []).append(place_of(step.side, step.position, step.shaft))
    for note, places in of_note.items():
        yield f"{'; '.join(places)}: {note}"


def _fits(told: Recheck) -> Iterator[str]:
    """Yield whether every belt, and every mount that several share, fits."""
    for number, stage in enumerate(told.now.stages, 1):
        yield fit_words(number, stage, told.units)
    for shared in told.now.shared:
        yield shared_words(shared, told.units)


def _others(told: Recheck) -> Iterator[str]:
    """Yield which speeds can nearly be made in other ways too."""
    yield from filter(None, map(other_words, told.now.speeds))


def _read(told: Recheck) -> Iterator[str]:
    """Yield what the speeds that were read tell."""
    if told.read_speeds:
        speeds = read_speed_table(told)
        key = ("\n" + paragraph(SET, indent="  ")) if "set" in speeds.heads else ""
        yield f"Speeds read\n{speeds.text()}{key}"
    if told.slip is not None:
        table = slip_table(told)
        lines = [paragraph(line, indent="  ") for line in _slip_words(told)]
        yield "\n".join(("Slip and pitch line", *([table.text()] if table else ()), *lines))


def _slip_words(told: Recheck) -> Iterator[str]:
    assert told.slip is not None
    yield from untold_words(told)
    for both in told.slip.together:
        yield from filter(None, map(str.strip, both.splitlines()))
    if told.slip.consistent is not None:
        agree = "agree" if told.slip.consistent else "do NOT agree"
        yield f"The readings {agree} within their uncertainties"
    yield from told.slip.suspects
    if told.slip.further:
        yield told.slip.further
    yield from told.slip.remarks


def _paper(told: Recheck, machine: MachineSheet, division_mm: float) -> str:
    """Return the result as Markdown."""
    units = told.units
    parts = [f"# {plain(told.title)}: checked again", f"**{plain(told.said)}**"]
    parts.append("\n".join(f"- {plain(line)}" for line in told.cautions))
    for number, option in enumerate(told.options):
        parts += [f"## {_title(number, option)}", f"Belts: {plain(', '.join(option.belts))}."]
        for word, table in _changes(option, told, division_mm):
            parts += [f"{word}, {units}:", table.markdown()]
        parts.append(f"{option_words(option)}.")
        parts.append(fit_table(option.made, units, then=True).markdown())
        parts.append(speed_now_table(option.made, then=True).markdown())
    parts += [f"## Steps, {units}", now_table(told).markdown(), PITCH]
    if notes := [f"- {plain(line)}" for line in _notes(told)]:
        parts.append("\n".join(notes))
    if history := history_table(told):
        parts += [f"## Earlier checks, {units}", history.markdown()]
    parts += ["## Belts", fit_table(told.now, units).markdown()]
    parts.append("\n".join(f"- {plain(line)}." for line in _fits(told)))
    parts += ["## Speeds", speed_now_table(told.now).markdown(), *(f"{line}." for line in _others(told))]
    parts += [SPEEDS, f"{plain(series_words(told))}."]
    if told.read_speeds:
        table = read_speed_table(told)
        parts += ["## Speeds read", table.markdown(), *([f"{SET}."] if "set" in table.heads else [])]
    if told.slip is not None:
        slip = slip_table(told)
        parts += ["## Slip and pitch line", *([slip.markdown()] if slip else ())]
        parts.append("\n".join(f"- {plain(line)}" for line in _slip_words(told)))
    parts += [
        "## Checks",
        f"{check_summary(told.now.checks)}.",
        check_table(told.now.checks, machine, units).markdown(),
    ]
    if told.remarks:
        parts += ["## Remarks", "\n".join(f"- {plain(line)}" for line in told.remarks)]
    made = [f"- scenario {plain(told.scenario)}, sha256 {told.scenario_sha256}"]
    made.append(f"- measurements {plain(told.measured)}, sha256 {told.measured_sha256}")
    made += (f"- {v.name} {v.version}" for v in told.versions)
    return "\n\n".join([*parts, "## Made from", "\n".join(made)]) + "\n"
