"""What papers and screens say of other ratios of gears."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.records.other_ratios import RatioTrial
from optimizer.report.figures import percent
from optimizer.report.table import Table
from optimizer.scenario.ratios import ratio_words

__all__ = ["ratio_lines", "ratio_sentence", "ratio_table", "why_none_lines"]

WORTH = 0.0005
"""Difference of J that is worth another gear's trouble to be told."""


def ratio_table(trials: Sequence[RatioTrial], *, reasons: bool = True) -> Table:
    """Return every ratio that gears can be had with: what the best listed design comes to, or why there is none."""
    rows = []
    for trial in trials:
        figures = (trial.j, trial.end_miss, trial.unevenness)
        said = trial.layout if trial.j is not None else trial.why if reasons else "none"
        left_open = "" if trial.proved else "; not proved"
        rows.append(
            (
                trial.key,
                ratio_words(trial.ratio) + (", stated" if trial.stated else ""),
                *("none" if figure is None else percent(figure) for figure in figures),
                f"{said}{left_open}",
            )
        )
    layout = "layout, or why none" if reasons else "layout"
    return Table(("gear", "ratio", "J", "end miss", "unevenness", layout), tuple(rows))


def why_none_lines(trials: Sequence[RatioTrial]) -> tuple[str, ...]:
    """Return why ratios give no design, a line each, for where a table has no room for it."""
    return tuple(f"{trial.key}, ratio {ratio_words(trial.ratio)}: {trial.why}." for trial in trials if trial.j is None)


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
