"""A machine that was checked again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from optimizer.documents.blocks import Table, paragraph, plain, short
from optimizer.documents.checks import check_summary, check_table, troubles
from optimizer.documents.data import json_text, schema_of
from optimizer.documents.figures import Units, length, rpm
from optimizer.quantities import shop_length
from optimizer.quantities.written import percent
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

__all__ = [
    "change_table",
    "fit_table",
    "fit_words",
    "history_table",
    "now_table",
    "option_words",
    "other_words",
    "place_of",
    "read_speed_table",
    "recheck_files",
    "recheck_json",
    "recheck_schema",
    "recheck_screen",
    "series_words",
    "shared_words",
    "slip_table",
    "speed_now_table",
    "untold_words",
]


MEASURES = {"over pins": "over pins", "diameter": "over the rim", "belt top": "belt top"}


def place_of(side: str, position: int, shaft: str) -> str:
    """Return a step as a maker finds it.

    Examples
    --------
    >>> place_of("stage[0].driver", 2, "motor")
    'motor, driver 2'
    """
    return f"{short(shaft, 14)}, {side.rsplit('.', 1)[1]} {position}"


def now_table(told: Recheck) -> Table:
    """Return every step with its pitch diameter as designed and as it is, in the maker's units."""
    heads = ("step", "state", "designed", "now", "±", "off", "measured by")
    return Table(heads, tuple(_now(step, told.units) for step in told.steps))


def history_table(told: Recheck) -> Table | None:
    """Return the sizes of all checks, where there is more than one."""
    if len(told.dates) < 2:
        return None
    rows = []
    for step in told.steps:
        if step.history:
            sizes = {then.date: then.pitch_mm for then in step.history}
            cells = ("" if day not in sizes else _length(sizes[day], told.units) for day in told.dates)
            place = place_of(step.side, step.position, step.shaft)
            rows.append((place, *cells, "" if step.worn_mm is None else length(step.worn_mm, told.units)))
    return Table(("step", *told.dates, "worn"), tuple(rows))


def fit_table(made: MadeSheet, units: Units, *, then: bool = False) -> Table:
    """Return the belts' own centre distances at every position; `then` of what is proposed."""
    heads = ("stage", "position", f"own centre {units}", "±", *(() if then else ("from",)))
    rows = []
    for number, stage in enumerate(made.stages, 1):
        for p in stage.positions:
            doubt = "" if not p.uncertainty_mm else length(p.uncertainty_mm, units)
            basis = () if then else (_basis(p.known),)
            rows.append((str(number), str(p.number), length(p.centre_mm, units), doubt, *basis))
    return Table(heads, tuple(rows))


def fit_words(number: int, stage: StageNow, units: Units) -> str:
    """Return whether a stage's one belt fits everywhere, in a sentence."""
    belt = f"Stage {number}, belt {stage.marking}"
    if stage.spread_mm is None:
        return f"{belt}: it does not go round at every position"
    spread, window = length(stage.spread_mm, units), length(stage.window_mm, units)
    doubt = f" (known to {length(stage.uncertainty_mm, units)})" if stage.uncertainty_mm else ""
    word = "fits" if stage.fits else "does NOT fit"
    unsure = "" if stage.sure else ", closer than the readings can tell"
    return f"{belt} {word}: its centre distances lie {spread} {units} apart{doubt}, {window} are allowed{unsure}"


def shared_words(shared: SharedNow, units: Units) -> str:
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


def speed_now_table(made: MadeSheet, *, then: bool = False) -> Table:
    """Return every speed beside the plate, or where speeds are free beside the design; `then` of what is proposed."""
    free = made.series.largest_gap is not None
    switched = ("settings",) if any(s.settings for s in made.speeds) else ()
    plate = ("plate",) if not all(s.on_plate for s in made.speeds) else ()
    was = (
        ("designed", f"rpm {'then' if then else 'now'}", "off")
        if free
        else ("plate rpm", f"rpm {'then' if then else 'now'}", "off plate")
    )
    heads = ("speed", *switched, "positions", *plate, *was, "±")
    rows = (
        (
            str(s.number),
            *("x".join(map(str, s.settings)) for _ in switched),
            "x".join(map(str, s.positions)),
            *("yes" if s.on_plate else "" for _ in plate),
            rpm(s.plate_rpm),
            rpm(s.rpm),
            _signed(s.off),
            percent(s.uncertainty) if s.uncertainty else "",
            *(() if then else (_basis(s.known),)),
        )
        for s in made.speeds
    )
    return Table((*heads, *(() if then else ("from",))), tuple(rows))


def other_words(speed: SpeedNow) -> str:
    """Return by which other positions nearly a speed is made; nothing where there are none.

    Examples
    --------
    >>> from optimizer.recheck.records import OtherNow
    >>> other = OtherNow(positions=(2, 1), rpm=616.81)
    >>> other_words(SpeedNow(number=2, positions=(1, 2), plate_rpm=607, rpm=607, off=0, uncertainty=0, known=True,
    ...     others=(other,)))
    'Speed 2 nearly so also on 2x1 (616.8 rpm)'
    """
    others = ", ".join(f"{'x'.join(map(str, other.positions))} ({rpm(other.rpm)} rpm)" for other in speed.others)
    return f"Speed {speed.number} nearly so also on {others}" if others else ""


def _basis(known: bool) -> str:
    return "measured" if known else "design, in part"


def series_words(told: Recheck) -> str:
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


def change_table(changes: tuple[StepChange, ...], units: Units, division_mm: float) -> Table:
    """Return steps to skim, or to turn, with what to measure when it is done, in the maker's units."""
    deeper = any(change.deeper_mm for change in changes)
    heads = ("step", *(("off each side", "from", "to") if deeper else ("outside", "size")), "measured")
    rows = []
    for change in changes:
        over = "" if change.pin_mm is None else f"over {length(change.pin_mm, units)} pins"
        first = (
            (length(change.deeper_mm, units), length(change.measure_from_mm, units))
            if deeper
            else (_shop(change.outside_mm, units, division_mm),)
        )
        rows.append(
            (
                place_of(change.side, change.position, change.shaft),
                *first,
                _shop(change.measure_mm, units, division_mm),
                over or MEASURES[change.measure],
            )
        )
    return Table(heads, tuple(rows))


def read_speed_table(told: Recheck) -> Table:
    """Return the speeds that were read beside the reckoned ones; narrower where settings stand beside positions."""
    switched = any(r.settings for r in told.read_speeds)
    places = ("set", "on") if switched else ("positions",)
    heads = ("date", *places, "shaft", "load", "rpm read", "motor", "reckoned", "off")
    rows = (
        (
            r.date,
            *(["x".join(map(str, r.settings))] if switched else []),
            "x".join(map(str, r.positions)),
            short(r.shaft, 10 if switched else 14),
            r.load,
            rpm(r.rpm),
            "" if r.motor_rpm is None else rpm(r.motor_rpm),
            "" if r.reckoned_rpm is None else rpm(r.reckoned_rpm),
            "" if r.off is None else _signed(r.off),
        )
        for r in told.read_speeds
    )
    return Table(heads, tuple(rows))


def slip_table(told: Recheck) -> Table | None:
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


def untold_words(told: Recheck) -> Iterator[str]:
    """Yield what the speeds do not tell, and why; nothing of a load under which no speed was read."""
    names: dict[tuple[str, str], list[str]] = {}
    for value in told.slip.values if told.slip else ():
        if value.value is None and value.known != "not read":
            names.setdefault((value.known, value.why), []).append(value.name)
    for (known, why), own in names.items():
        yield f"{', '.join(own)}: {known}{f': {why}' if why else ''}"


def option_words(option: OptionSheet) -> str:
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


def _evenness(series: SeriesSheet) -> str:
    if series.largest_gap is None:
        return f"End miss {percent(series.end_miss)}, unevenness {percent(series.unevenness)}"
    return (
        f"End miss {percent(series.end_miss)}, largest step of all speeds {percent(series.largest_gap, 1)}, unevenness "
        f"of the plate {percent(series.unevenness)}"
    )


def _now(step: StepNow, units: Units) -> tuple[str, ...]:
    told = step.state in ("measured",)
    return (
        place_of(step.side, step.position, step.shaft),
        step.state,
        length(step.designed_mm, units),
        length(step.pitch_mm, units) if told else "",
        length(step.uncertainty_mm, units) if step.uncertainty_mm is not None and told else "",
        _off(step.pitch_mm - step.designed_mm, units) if told else "",
        step.read_by,
    )


def _off(mm: float, units: Units) -> str:
    text = length(mm, units)
    return text if text.startswith("-") or not float(text) else f"+{text}"


def _length(mm: float | None, units: Units) -> str:
    return "cannot tell" if mm is None else length(mm, units)


def _signed(share: float) -> str:
    text = f"{100 * share:+.2f} %"
    return text if any(c in "123456789" for c in text) else "0.00 %"


def _shop(mm: float, units: Units, division_mm: float) -> str:
    return shop_length(mm, units, division_mm)


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
