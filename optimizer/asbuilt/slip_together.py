"""Combinations of slips and shifts that are known although their parts are not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import exp

import numpy as np
from numpy.typing import NDArray

from optimizer.asbuilt.slip_fit import NULL, USEFUL, Fit, fit
from optimizer.asbuilt.slip_results import Asked, Known, Quantity, Term, Together
from optimizer.asbuilt.slip_words import stage_words, state_words

__all__ = ["together"]

Floats = NDArray[np.float64]
ONE = 1e-6
"""How close to 1 a factor must be for slips to be simply joined."""


def together(found: Fit, quantities: Sequence[Quantity]) -> Iterator[Together]:
    """Yield combinations of unknowns that are known, by reducing the rows of what is seen to echelon form.

    Shifts that are not known are left as assumed, so that figures hold for the pitch line that is assumed.
    """
    if all(_told(row, quantities) for row in _echelon(found.directions[found.singular >= USEFUL])):
        return
    held = [p for p, q in enumerate(quantities) if q.asked is Asked.SHIFT and q.known is not Known.YES]
    found = fit(found.model, held, least=USEFUL)
    scale = found.model.scale
    rows = _echelon(found.directions[found.singular >= USEFUL])
    for row in rows:
        places: list[int] = np.flatnonzero(row).tolist()
        doubt = found.doubt(row)
        if _told(row, quantities) or doubt > 1:
            continue
        pivot = scale[places[0]]
        factors = row[places] / scale[places] * pivot
        terms = tuple(Term(p, float(f)) for p, f in zip(places, factors, strict=True))
        value, doubt = float(row @ found.asked * pivot), float(doubt * pivot)
        yield Together(terms, value, doubt, _words(terms, value, doubt, quantities))


def _told(row: Floats, quantities: Sequence[Quantity]) -> bool:
    """Return whether a combination tells nothing beyond what is known of its parts."""
    places = np.flatnonzero(row)
    return len(places) < 2 or all(quantities[int(p)].known is Known.YES for p in places)


def _words(terms: Sequence[Term], value: float, doubt: float, quantities: Sequence[Quantity]) -> str:
    slips = [(t, quantities[t.place]) for t in terms if quantities[t.place].asked is Asked.SLIP]
    shifts = [(t, quantities[t.place]) for t in terms if quantities[t.place].asked is Asked.SHIFT]
    states = {q.loaded for _, q in slips}
    if len(states) != 1 or any(abs(t.factor - 1) > ONE for t, _ in slips):
        parts = [f"{t.factor:.4g}·ln(1 − {q.name})" for t, q in slips]
        parts += [f"{t.factor:.4g}·{q.name} in mm" for t, q in shifts]
        return f"{' + '.join(parts)} = {value:.4g}, standard uncertainty {doubt:.2g}"
    stages = [q.stage for _, q in slips]
    one = len(stages) == 1
    name = f"slip of {stage_words(stages)}{'' if one else ' together'} {state_words(bool(states.pop()))}"
    if shifts:
        name += f" with {'its pitch line' if one else 'pitch lines'} as assumed"
    lines = [f"{name}: {100 * (1 - exp(value)):.1f} %, standard uncertainty {100 * doubt * exp(value):.1f} %"]
    for term, quantity in shifts:
        line = "a pitch line" if one else f"a pitch line of stage {quantity.stage + 1}"
        more = "more" if term.factor > 0 else "less"
        lines.append(f"  {line} 1 mm farther out would make it {abs(term.factor) * 100:.2f} % {more}")
    return "\n".join(lines)


def _echelon(rows: Floats) -> Floats:
    """Return the reduced row echelon form: each row's first figure is 1, alone in its column."""
    rows = rows.copy()
    done = 0
    for column in range(rows.shape[1]):
        if done == len(rows):
            break
        best = done + int(np.argmax(np.abs(rows[done:, column])))
        if abs(rows[best, column]) < NULL:
            rows[done:, column] = 0
            continue
        rows[[done, best]] = rows[[best, done]]
        rows[done] /= rows[done, column]
        others = np.arange(len(rows)) != done
        rows[others] -= np.outer(rows[others, column], rows[done])
        done += 1
    rows[np.abs(rows) < NULL] = 0
    return rows[:done]
