"""The chain of stages with its numbers of positions and the order of its speeds."""

from __future__ import annotations

from itertools import pairwise, product
from math import prod
from typing import Literal, Self

from pydantic import model_validator

from optimizer.scenario.base import Model

__all__ = ["Layout"]


class Layout(Model):
    """Numbers of positions from motor to spindle, with each position's place in the speed series.

    Speed number k of the series is made by the one position of every stage, and the one setting of every switch,
    whose offsets add up to k.

    Examples
    --------
    >>> layout = Layout(positions=(2, 4), offsets=((0, 4), (0, 1, 2, 3)))
    >>> layout.name, layout.order, layout.speeds
    ('2x4', 'coarse stage first', 8)
    >>> layout.places[5]
    (1, 1)
    >>> layout.belt_moves
    8
    """

    positions: tuple[int, ...]
    """Number of positions of every belt stage, motor first."""
    offsets: tuple[tuple[int, ...], ...]
    """For every stage, how many places up the series each of its positions lifts the speed; ascending from 0."""
    switched: tuple[tuple[int, ...], ...] = ()
    """The same for the settings of every switch, in the order of the chain."""
    switch_names: tuple[str, ...] = ()
    """What papers call every switch; its number where nothing is stated."""
    free: Literal["shared cone", "two cones"] | None = None
    """Where the speeds of two belts make no series, and so have no offsets: what stands on the middle shaft."""

    @model_validator(mode="after")
    def _offsets_tile_the_series(self) -> Self:
        if self.free:
            if self.offsets or self.switched or len(self.positions) != 2:
                raise ValueError("free speeds are made by two belts, and have no offsets")
            return self
        if tuple(len(row) for row in self.offsets) != self.positions or not self.positions:
            raise ValueError("there must be one offset for every position of every stage")
        if any(not row or row[0] != 0 or any(a >= b for a, b in pairwise(row)) for row in self.rows):
            raise ValueError("the offsets of a stage must ascend from 0")
        if {sum(offsets) for offsets in product(*self.rows)} != set(range(self.speeds)):
            raise ValueError("the offsets must add up to every place of the series")
        return self

    @property
    def rows(self) -> tuple[tuple[int, ...], ...]:
        """The offsets of all switches, then of all stages."""
        return (*self.switched, *self.offsets)

    @property
    def name(self) -> str:
        """The numbers of positions, motor first; `4` is one stage, `1x4` a plain pulley pair before it.

        Numbers of settings stand before them in brackets: `(2)x4` is a motor with two speeds, or a gear with two
        ratios, and four positions.
        """
        return "x".join([*(f"({len(row)})" for row in self.switched), *map(str, self.positions)])

    @property
    def speeds(self) -> int:
        """How many speeds the layout makes, those that can be made in several ways counted once.

        Where they are free that is how many ways there are; belts on one step of a shared cone make none.

        Examples
        --------
        >>> Layout(positions=(4, 4), offsets=(), free="shared cone").speeds
        12
        """
        if self.free:
            return prod(self.positions) - (self.positions[0] if self.free == "shared cone" else 0)
        return sum(row[-1] for row in self.rows) + 1

    @property
    def shared(self) -> int:
        """How many ways of making a speed there are beyond one for each; 0 where speeds are free."""
        if self.free:
            return 0
        return prod(map(len, self.rows)) - self.speeds

    @property
    def order(self) -> str:
        """Which stage makes the large steps of the series; with switches, all that has several.

        Examples
        --------
        >>> Layout(positions=(3,), offsets=((0, 1, 2),), switched=((0, 3),), switch_names=("motor",)).order
        'coarse motor, fine stage 1'
        """
        if self.free:
            return "shared middle cone" if self.free == "shared cone" else "free speeds"
        runs = self._runs()
        if len(runs) <= 1:
            return "one stage"
        stages = [stage for stage, _ in runs]
        if len(runs) == len(set(stages)):
            if stages == sorted(stages):
                return self._listed("fine", "coarse", stages) if self.switched else "fine stage first"
            if self.switched:
                return self._listed("coarse", "fine", stages[::-1])
            if stages == sorted(stages, reverse=True):
                return "coarse stage first"
        factors = "·".join(str(count) for _, count in runs)
        if len(self.positions) == len(set(self.positions)) == 2 and not self.switched:
            return f"interleaved {factors}"
        of = "" if self.switched else "stages "
        return f"interleaved {factors} of {of}{'·'.join(map(self._row_name, stages))}"

    @property
    def title(self) -> str:
        """Name and order, enough to tell this layout from every other."""
        shared = f", {self.speeds} speeds, {self.shared} of them in two ways" if self.shared else ""
        return self.name if self.order == "one stage" else f"{self.name}, {self.order}{shared}"

    @property
    def places(self) -> tuple[tuple[int, ...], ...]:
        """For every place of the series, slowest first, the position (from 0) of every stage."""
        return tuple(chosen[len(self.switched) :] for chosen in self._chosen())

    @property
    def settings(self) -> tuple[tuple[int, ...], ...]:
        """For every place of the series, slowest first, the setting (from 0, the slowest) of every switch."""
        return tuple(chosen[: len(self.switched)] for chosen in self._chosen())

    def _chosen(self) -> list[tuple[int, ...]]:
        """Return for every place of the series the setting of every switch, then the position of every stage.

        Of several ways that with the first settings and positions.
        """
        table: dict[int, tuple[int, ...]] = {}
        for place, chosen in self.ways:
            table.setdefault(place, chosen)
        return [table[k] for k in range(self.speeds)]

    @property
    def ways(self) -> tuple[tuple[int, tuple[int, ...]], ...]:
        """Every place of the series with a way of making it: settings of the switches, then positions of the stages.

        Slowest first, those of one place in order of settings and positions.
        """
        return tuple(
            sorted(
                (sum(row[p] for row, p in zip(self.rows, chosen, strict=True)), chosen)
                for chosen in product(*(range(len(row)) for row in self.rows))
            )
        )

    @property
    def coarse(self) -> int:
        """Which row of offsets makes the largest steps: each of its positions or settings is a range."""
        return max(range(len(self.rows)), key=lambda row: (self.rows[row][1] if len(self.rows[row]) > 1 else 0, -row))

    @property
    def belt_moves(self) -> int:
        """How many belts are moved in all on the way from the slowest speed to the fastest."""
        return sum(sum(a != b for a, b in zip(lower, upper, strict=True)) for lower, upper in pairwise(self.places))

    def _runs(self) -> list[tuple[int, int]]:
        """Return the factors of the series from fine to coarse as (stage, count)."""
        if self.shared:
            several = sorted((row[1], number) for number, row in enumerate(self.rows) if len(row) > 1)
            return [(number, len(self.rows[number])) for _, number in several]
        runs: list[tuple[int, int]] = []
        unit = 1
        while unit < self.speeds:
            stage = next(s for s, row in enumerate(self.rows) if unit in row)
            row = self.rows[stage]
            count = 2
            while count * unit in row:
                count += 1
            runs.append((stage, count))
            unit *= count
        return runs

    def _listed(self, first: str, last: str, rows: list[int]) -> str:
        """Return what has the coarse or the fine steps first, then the others."""
        stem = last.removesuffix("e")
        between = [f"{stem}er"] * (len(rows) - 2) + [last if len(rows) == 2 else f"{stem}est"]
        return ", ".join(f"{how} {self._row_name(row)}" for how, row in zip([first, *between], rows, strict=True))

    def _row_name(self, row: int) -> str:
        """Return what a row of offsets is of."""
        if not self.switched:
            return str(row + 1)
        switches = len(self.switched)
        if row >= switches:
            return f"stage {row - switches + 1}"
        return self.switch_names[row] if self.switch_names else f"switch {row + 1}"
