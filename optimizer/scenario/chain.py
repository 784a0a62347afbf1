"""The rule that all stages make one chain from motor to spindle."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from optimizer.errors import Fault
from optimizer.quantities import as_written

__all__ = ["MOTOR", "SPINDLE", "Link", "chain_faults", "in_order"]

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
