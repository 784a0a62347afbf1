"""What is switched by hand: a motor with several speeds, gears of which one is engaged at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from optimizer.errors import Fault
from optimizer.scenario.chain import MOTOR

__all__ = ["MOST_SETTINGS", "Switch", "slower_faults"]

MOST_SETTINGS = 4
SAME = 1e-3
"""Settings closer than this share are one."""


class Switch(NamedTuple):
    """Something in the chain that has several settings, one of them in use at a time.

    Examples
    --------
    >>> Switch("motor", 0, (950.0, 1420.0)).shares
    (0.6690140845070423, 1.0)
    """

    key: str
    """Place in the file: `motor`, or that of a stage."""
    before: int
    """How many stages of the chain come before it."""
    values: tuple[float, ...]
    """Speeds [rpm] or ratios, ascending."""
    name: str = ""
    """What it is called on papers: `motor`, `gear`, with a number where there are several gears."""

    @property
    def shares(self) -> tuple[float, ...]:
        """Every setting's speed as a share of the fastest's."""
        return tuple(value / self.values[-1] for value in self.values)

    @property
    def said(self) -> tuple[str, ...]:
        """What papers call every setting.

        Examples
        --------
        >>> Switch("stage[1]", 1, (0.16, 1.0)).said
        ('ratio 0.16', 'ratio 1')
        """
        return tuple(f"{value:.5g} rpm" if self.key == MOTOR else f"ratio {value:.5g}" for value in self.values)


def slower_faults(slower: Sequence[float], fastest: float, show: Callable[[float], str]) -> Iterator[Fault]:
    """Yield what is wrong with the settings beside the fastest one."""
    if len(slower) >= MOST_SETTINGS:
        yield Fault(
            "slower", "there are too many settings", str(len(slower) + 1), f"at most {MOST_SETTINGS}, the fastest too"
        )
    for index, value in enumerate(slower):
        if value > fastest * (1 - SAME):
            yield Fault(
                f"slower[{index}]",
                "this is not slower",
                show(value),
                f"below {show(fastest)}",
                "write the fastest before the list, the others in it",
            )
        elif any(abs(value / other - 1) < SAME for other in slower[:index]):
            yield Fault(f"slower[{index}]", "this setting stands there already", show(value), "every setting once")
