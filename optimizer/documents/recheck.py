"""A machine that was checked again: what to do, sizes, fit, speeds, slip; on the terminal and as a text to keep."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from optimizer.documents.basis import made_from, remark_sections
from optimizer.documents.blocks import (
    MARKDOWN,
    TERMINAL,
    Block,
    Document,
    Lines,
    Rank,
    Rows,
    Section,
    Table,
    Text,
    table_of,
)
from optimizer.documents.checks import check_answer, check_summary, check_table
from optimizer.documents.data import json_text, schema_of
from optimizer.documents.figures import Units, decimals, length, percent, rpm, short
from optimizer.documents.markdown import markdown
from optimizer.documents.terminal import screen
from optimizer.quantities import shop_length
from optimizer.recheck.records import (
    MadeSheet,
    OptionSheet,
    Recheck,
    SharedNow,
    SpeedNow,
    StageNow,
    StepChange,
    StepNow,
)
from optimizer.records.design import SeriesSheet
from optimizer.records.sheet import MachineSheet

__all__ = ["recheck_files", "recheck_json", "recheck_schema", "recheck_screen"]

MEASURES = {"over pins": "over pins", "diameter": "over the rim", "belt top": "belt top"}
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
    lead = (Text(told.said, look="loud"), Lines(told.cautions))
    sections = tuple(_sections(told, machine, division_mm))
    text = markdown(Document(f"{told.title}: checked again", lead, sections))
    return {"recheck.json": recheck_json(told).encode("utf-8"), "recheck.md": text.encode("utf-8")}


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
    lead = [Text(told.said, rank=Rank.ANSWER)]
    return screen(Document(told.title, lead, tuple(_sections(told, machine, division_mm))))


def _sections(told: Recheck, machine: MachineSheet, division_mm: float) -> Iterator[Section]:
    """Yield what could be done, then the machine as it is."""
    for number, option in enumerate(told.options):
        yield from _option_sections(number, option, told, division_mm)
    if any(option.skim for option in told.options):
        yield Section(told.cautions[0], only=TERMINAL)
    yield from _step_sections(told)
    yield from _fit_sections(told, machine)


def _option_sections(number: int, option: OptionSheet, told: Recheck, division_mm: float) -> Iterator[Section]:
    """Yield one thing that could be done."""
    title = f"{'Or' if number else 'Proposed'}: {KINDS[option.kind]}"
    belts, said = f"Belts: {', '.join(option.belts)}", _option_words(option)
    yield Section(f"{title}. {belts}", only=TERMINAL)
    blocks: list[Block] = [Text(f"{belts}.")]
    for word, changes in (("Skim", option.skim), ("Turn", option.turn), ("Make anew", option.anew)):
        if changes:
            table = _change_table(changes, told.units, division_mm)
            yield Section(f"{word}, {told.units}", [Rows(table, rank=Rank.ANSWER)], only=TERMINAL)
            blocks += [Text(f"{word}, {told.units}:"), Rows(table)]
    yield Section("", [Text(said, rank=Rank.ANSWER)], only=TERMINAL)
    blocks += [Text(f"{said}."), Rows(_fit_table(option.made, told.units, then=True))]
    yield Section(title, [*blocks, Rows(_speed_table(option.made, then=True))], only=MARKDOWN)


def _step_sections(told: Recheck) -> Iterator[Section]:
    """Yield sizes as they are, and as they were at earlier checks."""
    of_note: dict[str, list[str]] = {}
    for step in told.steps:
        if step.note:
            of_note.setdefault(step.note, []).append(_place_of(step))
    notes = [f"{'; '.join(places)}: {note}" for note, places in of_note.items()]
    steps = [Rows(_now_table(told), rank=Rank.ANSWER), Text(PITCH, rank=Rank.ANSWER)]
    yield Section(f"Steps, {told.units}", [*steps, *([Lines(notes)] if notes else [])])
    yield from (Section("", [Text(note, rank=Rank.ANSWER)], only=TERMINAL) for note in notes)
    if history := _history_table(told):
        yield Section(f"Earlier checks, {told.units}", [Rows(history, rank=Rank.ANSWER)])


def _fit_sections(told: Recheck, machine: MachineSheet) -> Iterator[Section]:
    """Yield fit and speeds as they are, what the speeds that were read tell, checks."""
    units, now = told.units, told.now
    fits = [_fit_words(number, stage, units) for number, stage in enumerate(now.stages, 1)]
    fits += [_shared_words(shared, units) for shared in now.shared]
    belts = Rows(_fit_table(now, units), rank=Rank.ANSWER)
    both = Lines(fits, rank=Rank.ANSWER, only=TERMINAL), Lines([f"{line}." for line in fits], only=MARKDOWN)
    yield Section("Belts", [belts, *both])
    others, series = [words for speed in now.speeds if (words := _other_words(speed))], _series_words(told)
    speeds = [
        Rows(_speed_table(now), rank=Rank.ANSWER),
        Lines(others, rank=Rank.ANSWER, only=TERMINAL),
        *(Text(f"{line}.") for line in others),
        Text(SPEEDS, rank=Rank.ANSWER),
        Text(f"{series}."),
    ]
    yield Section("Speeds", speeds)
    yield Section("", [Text(series, rank=Rank.ANSWER)], only=TERMINAL)
    if told.read_speeds:
        table = _read_speed_table(told)
        key = [Text(SET, rank=Rank.ANSWER, only=TERMINAL), Text(f"{SET}.")] if "set" in table.heads else []
        yield Section("Speeds read", [Rows(table, rank=Rank.ANSWER), *key])
    if told.slip is not None:
        tables = [Rows(slip, rank=Rank.ANSWER)] if (slip := _slip_table(told)) else []
        yield Section("Slip and pitch line", [*tables, Lines(list(_slip_words(told)), rank=Rank.ANSWER)])
    yield check_answer(now.checks, machine, units, *told.remarks)
    blocks = [Text(f"{check_summary(now.checks)}."), Rows(check_table(now.checks, machine, units))]
    yield Section("Checks", blocks, only=MARKDOWN)
    yield from remark_sections(told.remarks)
    yield made_from(
        f"scenario {told.scenario}, sha256 {told.scenario_sha256}",
        f"measurements {told.measured}, sha256 {told.measured_sha256}",
        versions=told.versions,
    )


def _place_of(step: StepNow | StepChange) -> str:
    """Return a step as a maker finds it."""
    return f"{short(step.shaft, 14)}, {step.side.rsplit('.', 1)[1]} {step.position}"


def _now_table(told: Recheck) -> Table:
    """Return every step with its pitch diameter as designed and as it is, in the maker's units."""
    units = told.units

    def measured(step: StepNow, mm: float | None) -> str:
        return length(mm, units, "") if step.state == "measured" else ""

    def off(step: StepNow) -> str:
        text = measured(step, step.pitch_mm - step.designed_mm)
        return text if not text or text.startswith("-") or not float(text) else f"+{text}"

    return table_of(
        told.steps,
        ("step", _place_of),
        ("state", lambda step: step.state),
        ("designed", lambda step: length(step.designed_mm, units)),
        ("now", lambda step: measured(step, step.pitch_mm)),
        ("±", lambda step: measured(step, step.uncertainty_mm)),
        ("off", off),
        ("measured by", lambda step: step.read_by),
    )


def _history_table(told: Recheck) -> Table | None:
    """Return the sizes of all checks, where there is more than one."""

    def then(step: StepNow, day: str) -> str:
        sizes = {then.date: then.pitch_mm for then in step.history}
        return length(sizes[day], told.units, "cannot tell") if day in sizes else ""

    if len(told.dates) < 2:
        return None
    return table_of(
        [step for step in told.steps if step.history],
        ("step", _place_of),
        *((day, lambda step, day=day: then(step, day)) for day in told.dates),
        ("worn", lambda step: length(step.worn_mm, told.units, "")),
    )


def _fit_table(made: MadeSheet, units: Units, *, then: bool = False) -> Table:
    """Return the belts' own centre distances at every position; `then` of what is proposed."""
    return table_of(
        [(number, p) for number, stage in enumerate(made.stages, 1) for p in stage.positions],
        ("stage", lambda at: str(at[0])),
        ("position", lambda at: str(at[1].number)),
        (f"own centre {units}", lambda at: length(at[1].centre_mm, units)),
        ("±", lambda at: length(at[1].uncertainty_mm or None, units, "")),
        None if then else ("from", lambda at: _basis(at[1].known)),
    )


def _speed_table(made: MadeSheet, *, then: bool = False) -> Table:
    """Return every speed beside the plate, or where speeds are free beside the design; `then` of what is proposed."""
    free, now = made.series.largest_gap is not None, f"rpm {'then' if then else 'now'}"
    return table_of(
        made.speeds,
        ("speed", lambda s: str(s.number)),
        ("settings", lambda s: "x".join(map(str, s.settings))) if any(s.settings for s in made.speeds) else None,
        ("positions", lambda s: "x".join(map(str, s.positions))),
        None if all(s.on_plate for s in made.speeds) else ("plate", lambda s: "yes" if s.on_plate else ""),
        ("designed" if free else "plate rpm", lambda s: rpm(s.plate_rpm)),
        (now, lambda s: rpm(s.rpm)),
        ("off" if free else "off plate", lambda s: _signed(s.off)),
        ("±", lambda s: percent(s.uncertainty) if s.uncertainty else ""),
        None if then else ("from", lambda s: _basis(s.known)),
    )


def _change_table(changes: tuple[StepChange, ...], units: Units, division_mm: float) -> Table:
    """Return steps to skim, or to turn, with what to measure when it is done, in the maker's units."""
    deeper = any(change.deeper_mm for change in changes)

    def measured(change: StepChange) -> str:
        return MEASURES[change.measure] if change.pin_mm is None else f"over {length(change.pin_mm, units)} pins"

    return table_of(
        changes,
        ("step", _place_of),
        ("off each side", lambda change: length(change.deeper_mm, units)) if deeper else None,
        ("from", lambda change: length(change.measure_from_mm, units)) if deeper else None,
        None if deeper else ("outside", lambda change: shop_length(change.outside_mm, units, division_mm)),
        ("to" if deeper else "size", lambda change: shop_length(change.measure_mm, units, division_mm)),
        ("measured", measured),
    )


def _read_speed_table(told: Recheck) -> Table:
    """Return the speeds that were read beside the reckoned ones; narrower where settings stand beside positions."""
    switched = any(r.settings for r in told.read_speeds)
    return table_of(
        told.read_speeds,
        ("date", lambda r: r.date),
        ("set", lambda r: "x".join(map(str, r.settings))) if switched else None,
        ("on" if switched else "positions", lambda r: "x".join(map(str, r.positions))),
        ("shaft", lambda r: short(r.shaft, 10 if switched else 14)),
        ("load", lambda r: r.load),
        ("rpm read", lambda r: rpm(r.rpm)),
        ("motor", lambda r: decimals(r.motor_rpm, 1)),
        ("reckoned", lambda r: decimals(r.reckoned_rpm, 1)),
        ("off", lambda r: "" if r.off is None else _signed(r.off)),
    )


def _slip_table(told: Recheck) -> Table | None:
    """Return the slips and shifts of the pitch line that the speeds tell; nothing where they tell none."""
    rows: list[tuple[str, ...]] = []
    for value in told.slip.values if told.slip else ():
        if value.value is None or value.uncertainty is None:
            continue
        if value.unit == "share":
            rows.append((value.name, percent(value.stated), percent(value.value), percent(value.uncertainty)))
        else:
            rows.append((value.name, *(f"{mm:.2f} mm" for mm in (value.stated, value.value, value.uncertainty))))
    return Table(("what", "stated", "by the speeds", "±"), tuple(rows)) if rows else None


def _fit_words(number: int, stage: StageNow, units: Units) -> str:
    """Return whether a stage's one belt fits everywhere, in a sentence."""
    belt = f"Stage {number}, belt {stage.marking}"
    if stage.spread_mm is None:
        return f"{belt}: it does not go round at every position"
    spread, window = length(stage.spread_mm, units), length(stage.window_mm, units)
    doubt = f" (known to {length(stage.uncertainty_mm, units)})" if stage.uncertainty_mm else ""
    word = "fits" if stage.fits else "does NOT fit"
    unsure = "" if stage.sure else ", closer than the readings can tell"
    return f"{belt} {word}: its centre distances lie {spread} {units} apart{doubt}, {window} are allowed{unsure}"


def _shared_words(shared: SharedNow, units: Units) -> str:
    """Return whether one setting of a mount fits both of its belts everywhere, in a sentence."""
    (one, other), (p, q) = shared.stages, shared.positions
    apart, forgiven = length(shared.apart_mm, units), length(shared.forgiven_mm, units)
    word = "fits" if shared.fits else "does NOT fit"
    doubt = f" (known to {length(shared.uncertainty_mm, units)})" if shared.uncertainty_mm else ""
    unsure = "" if shared.sure else ", closer than the readings can tell"
    return (
        f"Mount of {short(shared.shaft, 14)}: one setting {word} both belts; hardest with belt {one} on position {p}, "
        f"belt {other} on position {q}, whose own settings lie {apart} {units} apart{doubt}, {forgiven} are "
        f"allowed{unsure}"
    )


def _other_words(speed: SpeedNow) -> str:
    """Return by which other positions nearly a speed is made; nothing where there are none.

    Examples
    --------
    >>> from optimizer.recheck.records import OtherNow
    >>> other = OtherNow(positions=(2, 1), rpm=616.81)
    >>> _other_words(SpeedNow(number=2, positions=(1, 2), plate_rpm=607, rpm=607, off=0, uncertainty=0, known=True,
    ...     others=(other,)))
    'Speed 2 nearly so also on 2x1 (616.8 rpm)'
    """
    others = ", ".join(f"{'x'.join(map(str, other.positions))} ({rpm(other.rpm)} rpm)" for other in speed.others)
    return f"Speed {speed.number} nearly so also on {others}" if others else ""


def _series_words(told: Recheck) -> str:
    """Return ends and evenness as they are beside the design's."""
    now, was = told.now.series, told.designed
    wants = "; ".join(f"{short(band.name, 24)} {band.have} of {band.want}" for band in told.now.bands)
    beyond = [
        words for within, words in ((now.ends_advised, "end miss"), (now.evenness_advised, "unevenness")) if not within
    ]
    advice = f"; {' and '.join(beyond)} beyond what is advised" if beyond else "; both within what is advised"
    gaps = ""
    if now.largest_gap is not None and was.largest_gap is not None:
        gaps = f"largest step of all speeds {percent(now.largest_gap, 1)} (designed {percent(was.largest_gap, 1)}), "
    plate = " of the plate" if gaps else ""
    return (
        f"End miss {percent(now.end_miss)} (designed {percent(was.end_miss)}), {gaps}unevenness{plate} "
        f"{percent(now.unevenness)} (designed {percent(was.unevenness)}){advice}. Speeds in the bands: {wants}"
    )


def _option_words(option: OptionSheet) -> str:
    """Return how good the machine then is."""
    failed = len(option.made.failed)
    still = "1 check still FAILS" if failed == 1 else f"{failed} checks still FAIL"
    checks = still if failed else "every check is kept"
    proved = "no less skimming does it" if option.proved else "found, not proved to be the least"
    parts = [_evenness(option.made.series), checks]
    parts += [proved] if option.skim else []
    parts += [option.said] if option.said else []
    if not all((*(stage.sure for stage in option.made.stages), *(mount.sure for mount in option.made.shared))):
        parts.append("the fit is closer than the readings can tell, so measure again when it is done")
    return "; ".join(parts)


def _slip_words(told: Recheck) -> Iterator[str]:
    assert told.slip is not None
    yield from _untold_words(told)
    for both in told.slip.together:
        yield from filter(None, map(str.strip, both.splitlines()))
    if told.slip.consistent is not None:
        agree = "agree" if told.slip.consistent else "do NOT agree"
        yield f"The readings {agree} within their uncertainties"
    yield from told.slip.suspects
    if told.slip.further:
        yield told.slip.further
    yield from told.slip.remarks


def _untold_words(told: Recheck) -> Iterator[str]:
    """Yield what the speeds do not tell, and why; nothing of a load under which no speed was read."""
    names: dict[tuple[str, str], list[str]] = {}
    for value in told.slip.values if told.slip else ():
        if value.value is None and value.known != "not read":
            names.setdefault((value.known, value.why), []).append(value.name)
    for (known, why), own in names.items():
        yield f"{', '.join(own)}: {known}{f': {why}' if why else ''}"


def _evenness(series: SeriesSheet) -> str:
    if series.largest_gap is None:
        return f"End miss {percent(series.end_miss)}, unevenness {percent(series.unevenness)}"
    return (
        f"End miss {percent(series.end_miss)}, largest step of all speeds {percent(series.largest_gap, 1)}, unevenness "
        f"of the plate {percent(series.unevenness)}"
    )


def _basis(known: bool) -> str:
    return "measured" if known else "design, in part"


def _signed(share: float) -> str:
    text = f"{100 * share:+.2f} %"
    return text if any(c in "123456789" for c in text) else "0.00 %"
