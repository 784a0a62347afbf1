"""The shafts in their order from motor to spindle, and what has several settings among them."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from optimizer.errors import Fault
from optimizer.quantities import as_written

__all__ = ["MOST_SETTINGS", "MOTOR", "SPINDLE", "Link", "Switch", "chain_faults", "in_order", "slower_faults"]

MOTOR = "motor"
SPINDLE = "spindle"


class Link(NamedTuple):
    """The two shafts that a stage of the file joins."""

    number: int
    from_shaft: str
    to_shaft: str

    @property
    def place(self) -> str:
        """Place of the stage in the file."""
        return f"stage[{self.number}]"


def in_order(pairs: Sequence[tuple[str, str]]) -> tuple[int, ...]:
    """Return the indices of the stages on the way from the motor, as far as it goes.

    Examples
    --------
    >>> in_order([("countershaft", "spindle"), ("motor", "countershaft")])
    (1, 0)
    """
    leaving = {start: index for index, (start, _) in reversed(list(enumerate(pairs)))}
    order: list[int] = []
    shaft = MOTOR
    while shaft in leaving and leaving[shaft] not in order:
        order.append(leaving[shaft])
        shaft = pairs[order[-1]][1]
    return tuple(order)


def chain_faults(links: Sequence[Link], stated: Sequence[str]) -> Iterator[Fault]:
    """Yield what keeps the stages from being one chain.

    Parameters
    ----------
    links
        Every stage, in the order of the file.
    stated
        Names of the shafts that the file states.
    """
    faults = [*_name_faults(links, stated), *_fork_faults(links)]
    yield from faults or _gap_faults(links)


def _name_faults(links: Sequence[Link], stated: Sequence[str]) -> Iterator[Fault]:
    known = [MOTOR, *(name for name in stated if name not in (MOTOR, SPINDLE)), SPINDLE]
    for link in links:
        for key, name in (("from", link.from_shaft), ("to", link.to_shaft)):
            if name not in known:
                near = difflib.get_close_matches(name, known, n=1)
                advice = f"did you mean {as_written(near[0])}?" if near else "add [[shaft]] with this name"
                allowed = ", ".join(map(as_written, known))
                yield Fault(f"{link.place}.{key}", "there is no such shaft", as_written(name), allowed, advice)
        if link.from_shaft == link.to_shaft:
            yield Fault(
                f"{link.place}.to", "the stage joins a shaft to itself", as_written(link.to_shaft), "another shaft"
            )
        if link.to_shaft == MOTOR != link.from_shaft:
            yield Fault(f"{link.place}.to", "nothing drives the motor", '"motor"', "a shaft after the motor")
        if link.from_shaft == SPINDLE != link.to_shaft:
            yield Fault(f"{link.place}.from", "the spindle drives nothing", '"spindle"', "a shaft before the spindle")


def _fork_faults(links: Sequence[Link]) -> Iterator[Fault]:
    driving: dict[str, str] = {}
    driven: dict[str, str] = {}
    for link in links:
        first = driving.setdefault(link.from_shaft, link.place)
        if first != link.place:
            what = f"the chain forks: {first} starts from this shaft too"
            yield Fault(f"{link.place}.from", what, as_written(link.from_shaft), "a shaft that drives nothing yet")
        first = driven.setdefault(link.to_shaft, link.place)
        if first != link.place:
            what = f"two stages drive one shaft: {first} ends at it too"
            yield Fault(f"{link.place}.to", what, as_written(link.to_shaft), "a shaft that nothing drives yet")


def _gap_faults(links: Sequence[Link]) -> Iterator[Fault]:
    order = in_order([(link.from_shaft, link.to_shaft) for link in links])
    if not order:
        if links:
            yield Fault(
                f"{links[0].place}.from",
                "the chain does not start at the motor",
                as_written(links[0].from_shaft),
                '"motor"',
            )
        return
    last = links[order[-1]]
    if last.to_shaft != SPINDLE:
        what = "the chain breaks off before the spindle"
        advice = f"add a stage from {as_written(last.to_shaft)}, or end this one at the spindle"
        yield Fault(f"{last.place}.to", what, as_written(last.to_shaft), "a way on to the spindle", advice)
    for link in links:
        if link.number not in order:
            yield Fault(
                f"{link.place}.from",
                "the way from the motor does not reach this stage",
                as_written(link.from_shaft),
                "a shaft on the way from motor to spindle",
            )


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
