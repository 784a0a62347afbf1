"""What changing limits or the ratios of gears would do, in sentences a maker can act on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.documents.blocks import MARKDOWN, PAGE, TERMINAL, Lines, Rank, Rows, Section, Table, Text, table_of
from optimizer.documents.figures import MM_PER, Units, percent
from optimizer.quantities import show_rpm
from optimizer.records.changes import Buy, Change, Changes, NoDesign, Setting, Spare, Together, Value
from optimizer.records.other_ratios import RatioTrial
from optimizer.scenario.ratios import ratio_words

__all__ = ["buy_words", "change_sections", "change_words", "none_lines", "ratio_sections", "spare_table"]

UNITS_WORDS = "a unit is 5 mm of blank or travel, 10 mm of centre distance, 5 % of a band's edge, 1 of a want"
UNITS_WORDS_IN = "a unit is 3/16 in of blank or travel, 3/8 in of centre distance, 5 % of a band's edge, 1 of a want"
WORTH = 0.0005
"""Difference of J that is worth another gear's trouble to be told."""


def change_sections(changes: Changes, units: Units) -> Iterator[Section]:
    """Yield how far every limit could be tightened, and what a little more of each would buy."""
    spare, buys = spare_table(changes.spare, units), [buy_words(buy, units) for buy in changes.buys]
    if changes.spare:
        rows = Rows(spare, rank=Rank.ANSWER)
        yield Section("What every limit could give up, one at a time", [rows], only=TERMINAL)
    if buys:
        yield Section("What a little more would buy", [Lines(buys, rank=Rank.ANSWER)], only=TERMINAL)
    blocks = (
        Text("One at a time, before the last design of any layout is lost.", only=MARKDOWN),
        Rows(spare, "One limit at a time, before the last design is lost"),
        Lines(buys),
    )
    yield Section("What every limit could give up", blocks, only=(*MARKDOWN, *PAGE))


def ratio_sections(trials: Sequence[RatioTrial]) -> Iterator[Section]:
    """Yield what other ratios of gears would come to, where gears can be had with any."""
    if not trials:
        return
    said = f"{ratio_sentence(trials)}."
    why_none = (f"{trial.key}, ratio {ratio_words(trial.ratio)}: {trial.why}." for trial in trials if trial.j is None)
    blocks = (
        Rows(ratio_table(trials, reasons=False), rank=Rank.ANSWER, only=TERMINAL),
        Lines([*why_none, said], rank=Rank.ANSWER, only=TERMINAL),
        Text(f"{said} Best listed designs, not refined, all else as it is.", only=MARKDOWN),
        Text(said, only=PAGE),
        Rows(ratio_table(trials), "Best listed design of each ratio, all else as it is"),
    )
    yield Section("Other ratios of gears", blocks)


def none_lines(told: NoDesign) -> tuple[str, ...]:
    """Return why there is no design, then what would give one, a line each."""
    advice = _advice(told.changes, told.units) if told.changes else ()
    risky = _risky(told.changes, told.units) if told.changes else ()
    return (*_reasons(told), *advice, *ratio_lines(told.other_ratios), *risky)


def change_words(change: Change, units: Units) -> str:
    """Return the least change of one limit: what to write, for which layout, what is not enough.

    Examples
    --------
    >>> blank = Setting(key="making.largest_blank", unit="mm", now=240.0, value=247.0, short=246.5)
    >>> change_words(Change(kind="blank", settings=(blank,), layout="2x3", proved=True), "mm")
    'making.largest_blank = 247 (now 240): layout 2x3; 246.5 gives none'
    """
    return f"{_settings(change.settings, units)}: layout {change.layout}{_short(change, units)}"


def spare_table(spare: Sequence[Spare], units: Units) -> Table:
    """Return how far every limit could be tightened, with the value at which the last design is lost."""

    def lost(entry: Spare, setting: Setting) -> str:
        if not entry.lost:
            return "tried no further"
        return f"{_value(setting.short, setting.unit, units)} gives none" if entry.proved else "left open"

    return table_of(
        [(entry, setting) for entry in spare for setting in entry.settings],
        ("limit", lambda at: at[1].key),
        ("unit", lambda at: units if at[1].unit == "mm" else at[1].unit),
        ("now", lambda at: _value(at[1].now, at[1].unit, units)),
        ("could be", lambda at: _value(at[1].value, at[1].unit, units)),
        ("beyond", lambda at: lost(*at)),
    )


def buy_words(buy: Buy, units: Units) -> str:
    """Return what a small step of more of one limit buys.

    Examples
    --------
    >>> room = Setting(key="shaft[0].room", unit="mm", now=130.0, value=131.0)
    >>> buy = Buy(kind="room", settings=(room,), layout="2x3", j_now=0.01, j_then=0.01, opened=("2x4",))
    >>> buy_words(buy, "mm")
    'shaft[0].room = 131 (now 130) makes possible layout 2x4'
    >>> buy_words(buy.model_copy(update={"opened": ()}), "mm")
    'shaft[0].room = 131 (now 130) buys nothing'
    """
    gains = []
    if buy.j_then is None:
        gains.append(f"for layout {buy.layout} leaves the least J open")
    elif buy.j_then < buy.j_now:
        gains.append(
            f"takes the listed J of layout {buy.layout} from {percent(buy.j_now, 3)} to {percent(buy.j_then, 3)}"
        )
    if buy.opened:
        gains.append(f"makes possible layout {'; '.join(buy.opened)}")
    return f"{_settings(buy.settings, units)} {' and '.join(gains) or 'buys nothing'}"


def _reasons(told: NoDesign) -> Iterator[str]:
    for entry in told.reasons:
        yield f"layout {'; '.join(entry.layouts)}: {entry.reason}"


def _advice(changes: Changes, units: Units) -> Iterator[str]:
    usual = [change for change in changes.least if change.remedy == "usual"]
    none = "no single change that was tried gives a design"
    if len(usual) < len(changes.least):
        none = "no single change that was tried, and that keeps all limits of makers and safety, gives a design"
    if usual:
        yield "a design exists, all else as it is, with one of"
        yield from (f"  - {change_words(change, units)}" for change in usual)
        yield from _others(changes)
    elif changes.together:
        yield f"{none}; with two together there is one, all else as it is:"
        yield f"  - {_together_words(changes.together, units)}"
    elif not changes.together_tried:
        yield none
        yield from _others(changes)
    else:
        proved = "" if changes.together_proved else " that could be settled"
        yield f"{none}, and no two together{proved} by up to {changes.together_units} units each; {_unit_words(units)}"


def _risky(changes: Changes, units: Units) -> Iterator[str]:
    """Yield what passes a limit of a maker or of safety, with what it risks, in a paragraph of its own."""
    risky = [change for change in changes.least if change.remedy == "risky"]
    if risky:
        yield ""
        yield "what follows passes a limit of a maker or of safety, and is no advice: change the machine sooner"
        for change in risky:
            yield f"  - {change_words(change, units)}"
            yield f"    risk: {change.risk}"


def _others(changes: Changes) -> Iterator[str]:
    helped = {change.kind for change in changes.least}
    for proved, said in ((True, "alone, none is given by"), (False, "left open by the limit of effort:")):
        kinds = dict.fromkeys(u.kind for u in changes.unmoved if u.proved is proved and u.kind not in helped)
        if kinds:
            yield f"{said} {', '.join(kinds)}"


def _together_words(pair: Together, units: Units) -> str:
    each = "1 unit" if pair.units == 1 else f"{pair.units} units"
    proved = "a unit less does for no pair" if pair.proved else "found, not proved least"
    if not pair.turned:
        proved += ", its sizes are found on no ticks, turn finer with making.turn_to"
    return f"{_settings(pair.settings, units)}: layout {pair.layout}; {each} each, {proved}; {_unit_words(units)}"


def _unit_words(units: Units) -> str:
    return UNITS_WORDS_IN if units == "in" else UNITS_WORDS


def _short(change: Change, units: Units) -> str:
    if not change.turned:
        return "; its sizes are found on no ticks, turn finer with making.turn_to"
    if not change.proved:
        return "; found, not proved least"
    short = [_value(s.short, s.unit, units) for s in change.settings if s.short is not None]
    if not short:
        return "; no nearer length kept in stock gives one" if change.kind == "belt stock" else ""
    return f"; {' with '.join(dict.fromkeys(short))} gives none"


def _settings(settings: Sequence[Setting], units: Units) -> str:
    return ", ".join(
        f"{s.key} = {_value(s.value, s.unit, units)} "
        f"({'not stated now' if s.now is None else f'now {_value(s.now, s.unit, units)}'})"
        for s in settings
    )


def _value(value: Value, unit: str, units: Units) -> str:
    """Return a value as it is written in the file: lengths as bare numbers in its units."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, tuple):
        return f"[{', '.join(_value(item, unit, units) for item in value)}]"
    if unit == "rpm":
        return show_rpm(value)
    return f"{value / MM_PER[units] if unit == 'mm' else value:.10g}"


def ratio_table(trials: Sequence[RatioTrial], *, reasons: bool = True) -> Table:
    """Return every ratio that gears can be had with: what the best listed design comes to, or why there is none."""

    def share(figure: float | None) -> str:
        return "none" if figure is None else percent(figure)

    def layout(trial: RatioTrial) -> str:
        said = trial.layout if trial.j is not None else trial.why if reasons else "none"
        return said if trial.proved else f"{said}; not proved"

    return table_of(
        trials,
        ("gear", lambda trial: trial.key),
        ("ratio", lambda trial: ratio_words(trial.ratio) + (", stated" if trial.stated else "")),
        ("J", lambda trial: share(trial.j)),
        ("end miss", lambda trial: share(trial.end_miss)),
        ("unevenness", lambda trial: share(trial.unevenness)),
        ("layout, or why none" if reasons else "layout", layout),
    )


def ratio_sentence(trials: Sequence[RatioTrial]) -> str:
    """Return which ratio suits best, gear by gear.

    Examples
    --------
    >>> now = RatioTrial(key="stage[1]", ratio=0.05, stated=True, layout="4", j=0.04, proved=True)
    >>> other = RatioTrial(key="stage[1]", ratio=1 / 15, stated=False, layout="4", j=0.01, proved=True)
    >>> ratio_sentence((now, other))
    'stage[1]: ratio 0.0666667 (15:1) would suit better than 0.05 (20:1), J 1.00 % for 4.00 %'
    >>> ratio_sentence((now, other.model_copy(update={"j": None})))
    'stage[1]: the ratio stated suits best of those it can be had with'
    """
    said = []
    for key in dict.fromkeys(trial.key for trial in trials):
        of_gear = [trial for trial in trials if trial.key == key]
        now = next(trial for trial in of_gear if trial.stated)
        best = min((trial for trial in of_gear if trial.j is not None), key=lambda t: t.j or 0.0, default=None)
        if best is None or best.j is None:
            said.append(f"{key}: none of the ratios it can be had with gives a design")
        elif now.j is None:
            said.append(f"{key}: ratio {ratio_words(best.ratio)} gives a design, J {percent(best.j)}")
        elif best.j < now.j - WORTH:
            said.append(
                f"{key}: ratio {ratio_words(best.ratio)} would suit better than {ratio_words(now.ratio)}, "
                f"J {percent(best.j)} for {percent(now.j)}"
            )
        else:
            said.append(f"{key}: the ratio stated suits best of those it can be had with")
    return "; ".join(said)


def ratio_lines(trials: Sequence[RatioTrial]) -> tuple[str, ...]:
    """Return the same where there is no design, a line each."""
    if not trials:
        return ()
    lines = [f"other ratios of gears, all else as it is: {ratio_sentence(trials)}"]
    for trial in trials:
        what = f"{trial.key}, ratio {ratio_words(trial.ratio)}{', stated' if trial.stated else ''}"
        left_open = "" if trial.proved else ", not proved"
        if trial.j is None:
            lines.append(f"  - {what}: no design{left_open}: {trial.why}")
        else:
            miss, uneven = percent(trial.end_miss or 0.0), percent(trial.unevenness or 0.0)
            figures = f"J {percent(trial.j)}, end miss {miss}, unevenness {uneven}"
            lines.append(f"  - {what}: layout {trial.layout}, {figures}{left_open}")
    return tuple(lines)
