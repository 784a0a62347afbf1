"""Stages joined into designs, against looking at every combination."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from math import floor, inf
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.clock import LimitReachedError
from optimizer.search import chains
from optimizer.search.bound import Boxes
from optimizer.search.carrying import Link
from optimizer.search.chains import Chain, Designs, Joined, _Table, joined, tabulated
from optimizer.search.fit import SeriesRules
from optimizer.search.tuples import Ceiling, Tuples
from tests.unit.search.made_up import made_up_pairs, made_up_rules
from tests.unit.search.sorted_table import sorted_chain

Floats = NDArray[np.float64]
Found = dict[tuple[tuple[int, ...], ...], float]


@dataclass
class Sums:
    """A meter that keeps what is spent."""

    spent: list[int] = field(default_factory=list)

    def spend(self, combinations: int) -> None:
        """Note combinations."""
        self.spent.append(combinations)


@dataclass
class Case:
    """Stages with some choices each, three of two positions as a rule, and everything that may rule designs out."""

    join: Joined
    lists: list[Tuples]
    boxes: Boxes

    @classmethod
    def of(cls, seed: int, **changes: Any) -> Case:
        """Return choices at random near an even series of eight speeds, limits as they are changed."""
        rng = np.random.default_rng(seed)
        rules = made_up_rules(changes.pop("positions", (2, 2, 2)), caps=(0.4, 0.3), distinct=-1.0, base=6.9)
        step, indexes, lists = 1.5 / (rules.speeds - 1), [], []
        for offsets in rules.offsets:
            logs = [-0.9 / len(rules.offsets) + offset * step + rng.normal(0, 0.06, 9) for offset in offsets]
            indexes.append(SimpleNamespace(pairs=made_up_pairs(seed, 9 * len(logs), log_ratio=np.concatenate(logs))))
            rows = np.column_stack([rng.integers(9 * p, 9 * p + 9, 9) for p in range(len(logs))])
            middle = rng.normal(step, 0.02, 9)
            lists.append(Tuples(rows, middle - rng.uniform(0, 0.03, 9), middle + rng.uniform(0, 0.03, 9)))
        ceiling = Ceiling(changes.pop("ceiling_j", inf), changes.pop("ceiling_mm3", inf))
        box = {"most": 0.4, "first": (5.9, 6.1), "last": (7.35, 7.6), **changes.pop("boxes", {})}
        own = {
            "indexes": tuple(indexes),
            "series": rules,
            "entering": (6.5, 6.4, 6.3),
            "timber_most": inf,
            "ceiling": ceiling,
            **changes,
        }
        boxes = Boxes(box["most"], 1.0, (0.0, 1.0), box["first"], box["last"], ())
        return cls(Joined(**own), lists, boxes)

    def designs(self) -> Found:
        """Return the designs that the join yields, with their J."""
        found: Found = {}
        for block in self.blocks():
            rows = [part.tolist() for part in block.rows]
            for *parts, j in zip(*rows, block.j.tolist(), strict=True):
                key = tuple(tuple(part) for part in parts)
                assert key not in found or found[key] == j
                found[key] = j
        return found

    def blocks(self, meter: Sums | None = None) -> Iterator[Designs]:
        """Yield what the join yields, the last stage's choices in two blocks."""
        last = self.lists[-1]
        parts = iter([last.take(slice(0, 4)), last.take(slice(4, None))])
        table = tabulated(self.join, self.lists[:-1])
        return joined(self.join, table, parts, self.boxes, cast(Any, meter or Sums()))

    def plain(self) -> Found:
        """Return the designs that keep every rule, one combination after the other."""
        kept = []
        for numbers in product(*(range(len(part)) for part in self.lists)):
            rows = [part.rows[n] for part, n in zip(self.lists, numbers, strict=True)]
            if self._may_stand(rows, numbers):
                kept.append(rows)
        parts = [index.pairs.log_ratio[np.array([r[s] for r in kept])] for s, index in enumerate(self.join.indexes)]
        chosen, j = self.join.series.judge(parts, min(self.boxes.most, self.join.ceiling.j))
        keys = [tuple(tuple(row.tolist()) for row in kept[k]) for k in chosen]
        return dict(zip(keys, j.tolist(), strict=True))

    def _may_stand(self, rows: list[NDArray[np.int64]], numbers: tuple[int, ...]) -> bool:
        pairs = [index.pairs for index in self.join.indexes]
        lows = [float(part.ratio_low[n]) for part, n in zip(self.lists, numbers, strict=True)]
        highs = [float(part.ratio_high[n]) for part, n in zip(self.lists, numbers, strict=True)]
        keeps = [max(lows) <= min(highs)]
        slowest = fastest = 0.0
        for s, (own, chosen) in enumerate(zip(pairs, rows, strict=True)):
            into = self.join.entering[s] + fastest
            if s:
                keeps.append(into <= own.entering[chosen].min())
                keeps.append(into + own.log_ratio[chosen[-1]] <= own.leaving[chosen].min())
                if self.join.carrying:
                    asked = self.join.carrying.stages[s].asked(chosen[None, :])
                    a, b, c, d = (float(column[0]) for column in asked)
                    keeps += [a <= self.join.entering[s] + slowest <= b, c <= into <= d]
            slowest += float(own.log_ratio[chosen[0]])
            fastest += float(own.log_ratio[chosen[-1]])
        base, most = self.join.series.base, min(self.join.timber_most, self.join.ceiling.timber_mm3)
        keeps.append(sum(float(own.timber_mm3[chosen].sum()) for own, chosen in zip(pairs, rows, strict=True)) <= most)
        keeps.append(self.boxes.first[0] <= base + slowest <= self.boxes.first[1])
        keeps.append(self.boxes.last[0] <= base + fastest <= self.boxes.last[1])
        for limit in (self.join.carrying, self.join.stock):
            keeps += [bool(limit.holds(tuple(row[None, :] for row in rows))[0])] if limit else []
        return all(keeps)


def spans_of(s: int) -> Any:
    """Return a stage's limits of grip: spans of the slowest and of the fastest speed, by the rows chosen."""

    def asked(rows: NDArray[np.int64]) -> tuple[Floats, Floats, Floats, Floats]:
        shift = (rows.sum(axis=1) % 5) / 100
        slow = 6.4 - 0.3 * s - 0.1 * (s - 1)
        fast = 6.4 - 0.3 * s - 0.1 * (s - 1) + {1: 4, 2: 5}[s] * 1.5 / 7
        return slow - 0.1 + shift, slow + 0.1 + shift, fast - 0.12 + shift, fast + 0.12 + shift

    return SimpleNamespace(asked=asked)


def some_of(rows: tuple[NDArray[np.int64], ...]) -> NDArray[np.bool_]:
    """Tell of two designs in three that they hold."""
    return np.asarray(sum(part.sum(axis=1) for part in rows) % 3 > 0)


LINKS = [Link(number, tuple(range(number)), 0.0) for number in range(3)]
CARRYING = cast(Any, SimpleNamespace(stages=[spans_of(1), spans_of(1), spans_of(2)], links=LINKS, holds=some_of))
STOCK = cast(Any, SimpleNamespace(holds=some_of))
CHANGES: dict[str, dict[str, Any]] = {
    "nothing more": {},
    "three positions": {"positions": (3, 2)},
    "little timber": {"timber_most": 3.2e6},
    "a ceiling on timber": {"timber_most": 4.5e6, "ceiling_mm3": 3.2e6},
    "a ceiling on J": {"ceiling_j": 0.13},
    "narrow ends": {"boxes": {"most": 0.14, "first": (5.97, 6.05), "last": (7.45, 7.52)}},
    "faster shafts": {"entering": (6.5, 7.0, 6.9)},
    "grip": {"carrying": CARRYING},
    "few in hand": {"stock": STOCK},
}


@pytest.mark.parametrize("changes", CHANGES.values(), ids=list(CHANGES))
def test_designs_joined_are_those_of_all_combinations(changes: dict[str, Any]) -> None:
    """Ratio, speeds, timber, ends, series, grip, stock: every combination that keeps them all is there, with its J.

    Whatever is asked for besides rules something out, so that each rule is held by itself.
    """
    case = Case.of(3, **changes)
    found, expected = case.designs(), case.plain()
    assert found.keys() == expected.keys()
    assert 5 < len(expected) < (len(Case.of(3).designs()) if changes and "positions" not in changes else 9**3)
    for key, j in expected.items():
        assert found[key] == pytest.approx(j, abs=1e-12)


@pytest.mark.parametrize("block", [1, 7, 40])
def test_blocks_are_as_long_as_they_may_be(monkeypatch: pytest.MonkeyPatch, block: int) -> None:
    """Designs come in blocks, each as many queries as fit; the designs are the same, however short the blocks."""
    case = Case.of(3)
    whole = Sums()
    everything = [designs.j for designs in case.blocks(whole)]
    monkeypatch.setattr(chains, "BLOCK", block)
    meter = Sums()
    found = list(case.blocks(meter))
    assert sum(meter.spent) == sum(whole.spent)
    assert len(meter.spent) == len(found) > len(everything)
    assert np.concatenate([designs.j for designs in found]) == pytest.approx(np.concatenate(everything))
    # one query of the table has at most as many rows as the table has choices
    longest = len(tabulated(case.join, case.lists[:-1]))
    assert all(0 < spent <= max(block, longest) for spent in meter.spent)
    if block == 40:
        assert sum(a + b <= block for a, b in zip(meter.spent, meter.spent[1:], strict=False)) <= 1


def test_combinations_beyond_what_may_be_held_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nine choices of either of two stages are 81 combinations: so many may be held, 80 may not."""
    case = Case.of(3)
    monkeypatch.setattr("optimizer.search.limits.MOST_HELD", 81)
    assert len(tabulated(case.join, case.lists[:2])) <= 81
    monkeypatch.setattr("optimizer.search.limits.MOST_HELD", 80)
    with pytest.raises(LimitReachedError):
        tabulated(case.join, case.lists[:2])


def test_a_table_of_no_stage_is_one_choice_of_nothing() -> None:
    """Before any stage there is one choice: ratios of nothing, any ln φ, no timber, no limit of speed."""
    chain = tabulated(Case.of(3).join, [])
    assert len(chain) == 1 and chain.rows == ()
    assert (chain.first[0], chain.last[0], chain.timber_mm3[0]) == (0.0, 0.0, 0.0)
    assert (chain.ratio_low[0], chain.ratio_high[0]) == (-inf, inf)
    assert (chain.entering[0], chain.leaving[0]) == (inf, inf)


def test_tabulated_choices_say_what_they_are_together() -> None:
    """Sums of ratios and timber, common ln φ, limits of the last stage; held is 8 bytes a figure."""
    case = Case.of(4)
    chain = tabulated(case.join, case.lists[:2])
    assert len(chain) > 10
    (one, other), (a, b) = case.join.indexes[:2], case.lists[:2]
    numbers = [
        (int(np.flatnonzero((a.rows == left).all(axis=1))[0]), int(np.flatnonzero((b.rows == right).all(axis=1))[0]))
        for left, right in zip(*chain.rows, strict=True)
    ]
    for row, (m, n) in enumerate(numbers):
        left, right = a.rows[m], b.rows[n]
        assert chain.first[row] == pytest.approx(one.pairs.log_ratio[left[0]] + other.pairs.log_ratio[right[0]])
        assert chain.last[row] == pytest.approx(one.pairs.log_ratio[left[1]] + other.pairs.log_ratio[right[1]])
        timber = one.pairs.timber_mm3[left].sum() + other.pairs.timber_mm3[right].sum()
        assert chain.timber_mm3[row] == pytest.approx(timber)
        assert chain.ratio_low[row] == max(a.ratio_low[m], b.ratio_low[n])
        assert chain.ratio_high[row] == min(a.ratio_high[m], b.ratio_high[n])
        assert chain.entering[row] == other.pairs.entering[right].min()
        assert chain.leaving[row] == other.pairs.leaving[right].min()
    assert chain.held_bytes == len(chain) * 8 * (4 + 7)


def chain_of(first: Floats, low: Floats, high: Floats) -> Chain:
    """Return choices of so many first ratios and spans of ln φ."""
    zeros = np.zeros(first.size)
    return Chain((np.arange(first.size)[:, None],), first, zeros, low, high, zeros, zeros, zeros)


@pytest.mark.parametrize("breadth", [0.05, 0.0, inf])
def test_a_table_answers_by_cells_of_the_widest_span(breadth: float) -> None:
    """Rows come where their first ratio is asked for and their cell of ln φ is one that the span asked for touches."""
    rng = np.random.default_rng(21)
    low = rng.uniform(0.1, 0.6, 80)
    high = low + rng.uniform(0, 1, 80) * breadth if breadth < inf else np.full(80, inf)
    table = _Table.of(chain_of(rng.uniform(-1, 1, 80), low, high))
    chain = sorted_chain(table)
    middle = (chain.ratio_low + chain.ratio_high) / 2 if breadth < inf else np.zeros(80)
    widest = float((chain.ratio_high - chain.ratio_low).max()) if 0 < breadth < inf else 1.0
    if breadth == 0:
        widest = float(np.ptp(middle)) / 4096
    assert table.width == pytest.approx(widest)
    number = [floor((value - middle.min()) / table.width) for value in middle]
    assert table.cells == max(number) + 1
    assert sorted(chain.rows[0][:, 0].tolist()) == list(range(80))
    first, ratio = rng.uniform(-1.2, 1, 50), rng.uniform(0.05, 0.6, 50)
    first[0] = chain.first[7]
    spans = (first, first + np.where(np.arange(50) % 9, 0.3, 0.0)), (ratio, ratio + 0.04)
    asked, start, stop = table.ranges(*spans)
    for query in range(50):
        rows = [row for k in np.flatnonzero(asked == query) for row in range(start[k], stop[k])]
        begin, end = (
            min(max(floor((value - middle.min()) / table.width), 0), table.cells - 1)
            for value in (ratio[query] - table.width / 2, ratio[query] + 0.04 + table.width / 2)
        )
        inside = (chain.first >= spans[0][0][query] - 1e-12) & (chain.first <= spans[0][1][query] + 1e-12)
        expected = [row for row in np.flatnonzero(inside).tolist() if begin <= number[row] <= end]
        assert sorted(rows) == expected
    nothing = table.ranges((first + 0.1, first), (ratio, ratio + 0.1))
    assert [part.size for part in nothing] == [0, 0, 0]


def test_a_series_is_asked_for_what_the_ceiling_leaves() -> None:
    """Each block is judged by the ceiling of J as it then is: lowered between two blocks it rules out at once."""
    case = Case.of(3)
    blocks = case.blocks()
    first = next(blocks)
    assert first.j.size
    case.join.ceiling.j = 0.0
    assert all(designs.j.size == 0 for designs in blocks)
    assert isinstance(case.join.series, SeriesRules)
