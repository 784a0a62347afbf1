"""Every order of the speed series that a chain of stages can make."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from optimizer.records.layout import Layout
from optimizer.scenario import BeltStage, Scenario

__all__ = ["layouts_of", "orders"]


def orders(
    positions: tuple[int, ...], settings: tuple[int, ...] = (), names: tuple[str, ...] = ()
) -> tuple[Layout, ...]:
    """Return every way in which stages with these numbers of positions make one series of speeds.

    Switches with these numbers of settings, and names, take part in it like stages.

    The places 0 … K−1 of the series are written as a sum of one set of offsets for every stage, each place
    exactly once. The set that holds 1 is a run 0 … f−1 repeated at multiples of f, and dividing by f leaves the
    same task; so every order is a sequence of (stage, factor) from the finest to the coarsest, neighbours of
    different stages, in which the factors of a stage multiply to its number of positions (N. G. de Bruijn,
    On number systems, 1956, from memory; checked against a plain count of all tilings in the tests).

    Coarse stage first comes first, then fine stage first, then the interleaved ones.

    Examples
    --------
    >>> [layout.title for layout in orders((2, 4))]
    ['2x4, coarse stage first', '2x4, fine stage first', '2x4, interleaved 2·2·2']
    >>> [layout.title for layout in orders((5,))]
    ['5']
    """
    counts = (*settings, *positions)
    rows = (_offsets(counts, chain) for chain in _chains(counts, -1))
    split = len(settings)
    found = (Layout(positions=positions, offsets=row[split:], switched=row[:split], switch_names=names) for row in rows)
    return tuple(sorted(found, key=_rank))


def layouts_of(scenario: Scenario) -> tuple[Layout, ...]:
    """Return every layout the maker allows: each number of positions of each belt stage, in each order.

    Where speeds are free there is no order; on a shared cone both belts have as many positions.
    """
    counts = [stage.positions for stage in scenario.chain if isinstance(stage, BeltStage)]
    if scenario.shared_cone:
        return tuple(Layout(positions=(count, count), offsets=(), free="shared cone") for count in counts[0])
    if scenario.free:
        return tuple(Layout(positions=chosen, offsets=(), free="two cones") for chosen in product(counts[0], counts[1]))
    settings = tuple(len(switch.values) for switch in scenario.switches)
    names = tuple(switch.name for switch in scenario.switches)
    found = [layout for chosen in product(*counts) for layout in orders(chosen, settings, names)]
    return tuple(each for layout in found for each in (layout, *_overlapping(layout, scenario.series.shared)))


def _overlapping(layout: Layout, most: int) -> Iterator[Layout]:
    """Yield a layout of two rows with its ranges moved together, until neighbours have so many speeds in common.

    Examples
    --------
    >>> [each.offsets for each in _overlapping(Layout(positions=(2, 4), offsets=((0, 4), (0, 1, 2, 3))), 2)]
    [((0, 3), (0, 1, 2, 3)), ((0, 2), (0, 1, 2, 3))]
    """
    several = [number for number, row in enumerate(layout.rows) if len(row) > 1]
    fine = next((number for number in several if layout.rows[number] == tuple(range(len(layout.rows[number])))), None)
    if len(several) != 2 or fine is None:
        return
    coarse, count = layout.coarse, len(layout.rows[fine])
    for shared in range(1, min(most, count - 1) + 1):
        rows = list(layout.rows)
        rows[coarse] = tuple(place // count * (count - shared) for place in rows[coarse])
        split = len(layout.switched)
        yield layout.model_copy(update={"switched": tuple(rows[:split]), "offsets": tuple(rows[split:])})


def _chains(left: tuple[int, ...], last: int) -> Iterator[tuple[tuple[int, int], ...]]:
    """Yield the sequences of (stage, factor), finest first, that use up the positions left."""
    if all(count == 1 for count in left):
        yield ()
        return
    for stage, count in enumerate(left):
        if stage == last:
            continue
        for factor in range(2, count + 1):
            if count % factor == 0:
                rest = (*left[:stage], count // factor, *left[stage + 1 :])
                for chain in _chains(rest, stage):
                    yield ((stage, factor), *chain)


def _offsets(positions: tuple[int, ...], chain: tuple[tuple[int, int], ...]) -> tuple[tuple[int, ...], ...]:
    rows = [[0] for _ in positions]
    unit = 1
    for stage, factor in chain:
        rows[stage] = [start + step * unit for step in range(factor) for start in rows[stage]]
        unit *= factor
    return tuple(tuple(sorted(row)) for row in rows)


def _rank(layout: Layout) -> tuple[int, tuple[tuple[int, ...], ...]]:
    ways = ("one", "coarse", "fine", "interleaved")
    return ways.index(layout.order.split()[0]), layout.rows
