"""Pairs of sizes are all that lists, ticks and standing cones of two sides give, and no others: listed here plainly."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest

from optimizer.records import SideSizes, StageProblem
from optimizer.search.pairs import ANY_PLACE, KEPT, READY, TURNED, size_pairs, tick_sizes_mm

Row = tuple[float, float, int, int, float]


def a_side(name: str, **sizes: object) -> SideSizes:
    """Return a side of a stage."""
    return SideSizes.model_validate({"key": f"stage[0].{name}", **sizes})


def a_stage(driver: SideSizes, driven: SideSizes) -> StageProblem:
    """Return a stage of two sides, without belts."""
    return StageProblem(key="stage[0]", driver=driver, driven=driven, belts=(), centre_mm=(200.0, 400.0))


@pytest.mark.parametrize(
    ("turned", "tick", "shift", "sizes"),
    [
        ((63.1, 64.1), 0.5, 0.1, [63.1, 63.6, 64.1]),
        ((63.0, 64.2), 0.5, 0.1, [63.1, 63.6, 64.1]),
        ((63.2, 64.0), 0.5, 0.1, [63.6]),
        ((63.2, 63.5), 0.5, 0.1, []),
        ((60.0, 62.0), 1.0, 0.0, [60.0, 61.0, 62.0]),
        ((60.0, 60.0), 2.0, 0.0, [60.0]),
        ((60.0, 62.0), 1.0, -0.5, [60.5, 61.5]),
    ],
)
def test_ticks_reach_from_limit_to_limit(
    turned: tuple[float, float], tick: float, shift: float, sizes: list[float]
) -> None:
    """Whole ticks on the maker's line, both limits included, by hand."""
    side = a_side("driver", turned_mm=turned, tick_mm=tick, given_shift_mm=shift)
    assert tick_sizes_mm(side).tolist() == pytest.approx(sizes)


def drawn_side(rng: Random, name: str, positions: int) -> SideSizes:
    """Return a side of ready, turned or standing steps, or several of these."""
    kinds = rng.choice(["ready", "turned", "both", "standing", "open"])
    sizes: dict[str, object] = {"tick_mm": rng.choice([1.0, 2.0]), "grid_mm": rng.choice([4.0, 6.0])}
    if kinds != "turned":
        sizes["ready_mm"] = tuple(sorted(rng.sample([50.0, 60.0, 70.0, 80.0], rng.randint(1, 2))))
    if kinds in ("turned", "both", "open"):
        low = rng.choice([90.0, 90.5])
        sizes |= {"turned_mm": (low, low + 4), "listed_mm": (91.0, 94.0)}
    if kinds in ("standing", "open"):
        steps = [(100.0 + 10 * n, 99.0 + 10 * n)[: rng.randint(1, 2)] for n in range(positions + rng.randint(-1, 1))]
        sizes["standing_mm"] = tuple(step if kinds == "standing" or n % 2 else None for n, step in enumerate(steps))
        sizes |= {"reversible": rng.random() < 0.4, "placed": rng.random() < 0.3}
    return a_side(name, **sizes)


def windows(side: SideSizes, positions: int) -> list[list[tuple[float, ...] | None]]:
    """Return every run of a standing cone that is as long as the positions, that of open steps where none stands."""
    steps = list(side.standing_mm)
    if not steps:
        return [[None] * positions]
    return [steps[n : n + positions] for n in range(len(steps)) if n + positions <= len(steps)]


def plain_runs(stage: StageProblem, positions: int) -> Iterator[tuple[list[object], list[object]]]:
    """Yield the standing steps of both sides at every position, slowest first, in every way they may face."""
    driver, driven = stage.driver, stage.driven
    both = bool(driver.standing_mm and driven.standing_mm)
    for one in windows(driver, positions):
        for other in windows(driven, positions):
            for turned in (False, True) if both and (driver.reversible or driven.reversible) else (False,):
                for backwards in (False, True) if not (driver.placed or driven.placed) else (False,):
                    faced = list(other[::-1] if turned else other)
                    yield (
                        list(one[::-1] if backwards else one),
                        list(faced[::-1] if backwards else faced),
                    )


def plain_options(side: SideSizes, standing: object) -> list[tuple[int, tuple[float, ...]]]:
    """Return what a step may be: the one that stands, or else ready or turned."""
    if isinstance(standing, tuple):
        return [(KEPT, standing)]
    return [*([(READY, side.ready_mm)] if side.ready_mm else []), *([(TURNED, ())] if side.turned_mm else [])]


def plain_sizes(side: SideSizes, source: int, sizes: tuple[float, ...], *, rays: bool) -> list[float]:
    """Return the sizes of a source: turned ones are the listed, or every tick."""
    if source != TURNED:
        return list(sizes)
    return list(side.listed_mm) if rays else [float(size) for size in tick_sizes_mm(side)]


def plain_rows(stage: StageProblem, one: object, other: object, *, ticks: bool) -> Iterator[Row]:
    """Yield the pairs of one position, each with the half width of its ray."""
    for source, sizes in plain_options(stage.driver, one):
        for facing, facing_sizes in plain_options(stage.driven, other):
            rays = source == facing == TURNED and not ticks
            left = sizes if source != TURNED else stage.driver.listed_mm if rays else tick_sizes_mm(stage.driver)
            right = (
                facing_sizes if facing != TURNED else stage.driven.listed_mm if rays else tick_sizes_mm(stage.driven)
            )
            for a in left:
                for b in right:
                    grid = (stage.driver.grid_mm if a >= b else stage.driven.grid_mm) if rays else 0.0
                    yield float(a), float(b), source, facing, round(grid / 2 / max(a, b), 12)


@pytest.mark.parametrize("seed", range(40))
def test_every_pair_of_sizes_is_listed_once(seed: int) -> None:
    """Of drawn sides: all pairs of every position in every run of the standing cones, once each, and nothing else."""
    rng = Random(seed)
    positions = rng.randint(1, 3)
    stage = a_stage(drawn_side(rng, "driver", positions), drawn_side(rng, "driven", positions))
    ticks = seed % 3 == 0
    rows: dict[int, list[tuple[int, Row]]] = {}
    for block, n in (
        (sizes, n) for sizes in size_pairs(stage, positions=positions, ticks=ticks) for n in range(len(sizes.place))
    ):
        row = (
            float(block.driver_mm[n]),
            float(block.driven_mm[n]),
            int(block.driver_source[n]),
            int(block.driven_source[n]),
            round(float(block.reach[n]), 12),
        )
        rows.setdefault(int(block.variant[n]), []).append((int(block.place[n]), row))
    assert sorted(rows) == list(range(len(rows)))
    standing = bool(stage.driver.standing_mm or stage.driven.standing_mm)
    expected = set()
    for run in plain_runs(stage, positions):
        places = enumerate(zip(*run, strict=True)) if standing else [(ANY_PLACE, (None, None))]
        listed = [(place, row) for place, steps in places for row in plain_rows(stage, *steps, ticks=ticks)]
        expected |= {tuple(sorted(listed))} if listed else set()
    assert sorted(map(tuple, map(sorted, rows.values()))) == sorted(expected)
