"""Which mounts change which belts, and the rule that every belt is changed by a mount of its own or by a shared one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from optimizer.errors import Fault
from optimizer.quantities import as_written, show_length
from optimizer.scenario.chain import MOTOR, SPINDLE
from optimizer.scenario.stage import BeltStage, FixedStage

if TYPE_CHECKING:
    from optimizer.scenario.shop import Shaft

__all__ = ["carried", "changes", "crowded", "mount_faults", "riding_faults", "shared"]


def carried(shafts: Sequence[Shaft], name: str) -> frozenset[str]:
    """Return the shafts that move when the mount of one is moved: itself with all that rides on it."""
    moved = {name}
    grown = True
    while grown:
        riders = {shaft.name for shaft in shafts if shaft.on in moved}
        grown = not riders <= moved
        moved |= riders
    return frozenset(moved)


def changes(shafts: Sequence[Shaft], stages: Sequence[BeltStage | FixedStage]) -> dict[int, tuple[str, ...]]:
    """Return, for every stage, the shafts whose moving mount changes its centre distance."""
    moving = {shaft.name: carried(shafts, shaft.name) for shaft in shafts if shaft.slides}
    return {
        index: tuple(name for name, moved in moving.items() if (stage.from_shaft in moved) != (stage.to_shaft in moved))
        for index, stage in enumerate(stages)
    }


def shared(changed: Mapping[int, Sequence[str]]) -> dict[str, tuple[int, ...]]:
    """Return the mounts that are the only one to change several belts, each with the stages of those.

    One setting of such a mount must fit all of them.

    Parameters
    ----------
    changed
        For every belt stage, the mounts that change it.

    Examples
    --------
    >>> shared({0: ["countershaft"], 1: ["countershaft"], 2: ["spindle"]})
    {'countershaft': (0, 1)}
    >>> shared({0: ["motor", "countershaft"], 1: ["countershaft"]})
    {}
    """
    alone: dict[str, list[int]] = {}
    for stage, mounts in changed.items():
        if len(mounts) == 1:
            alone.setdefault(mounts[0], []).append(stage)
    return {mount: tuple(stages) for mount, stages in alone.items() if len(stages) > 1}


def crowded(wanted: Mapping[int, Sequence[str]]) -> tuple[tuple[int, ...], tuple[str, ...]] | None:
    """Find stages that have fewer mounts between them than they are, by augmenting paths (König, Hall).

    Parameters
    ----------
    wanted
        For every stage, the mounts that change it, any of which may be its own.

    Returns
    -------
    tuple or None
        The stages with all the mounts they have; nothing where every stage can have its own.

    Examples
    --------
    >>> crowded({0: ["motor", "countershaft"], 1: ["countershaft"]}) is None
    True
    >>> crowded({0: ["countershaft"], 1: ["countershaft"]})
    ((0, 1), ('countershaft',))
    """
    owner: dict[str, int] = {}

    def place(stage: int, tried: set[str]) -> bool:
        for mount in wanted[stage]:
            if mount not in tried:
                tried.add(mount)
                if mount not in owner or place(owner[mount], tried):
                    owner[mount] = stage
                    return True
        return False

    for stage in wanted:
        tried: set[str] = set()
        if not place(stage, tried):
            return tuple(sorted({stage, *(owner[mount] for mount in tried)})), tuple(sorted(tried))
    return None


def mount_faults(shafts: Sequence[Shaft], stages: Sequence[BeltStage | FixedStage], units: str) -> Iterator[Fault]:
    """Yield what is wrong with the way mounts change belts."""
    riding = list(riding_faults(shafts))
    if riding or len({shaft.name for shaft in shafts}) < len(shafts):
        yield from riding
        return
    changed = changes(shafts, stages)
    place = {shaft.name: f"shaft[{index}]" for index, shaft in enumerate(shafts)}
    for index, stage in enumerate(stages):
        movers = changed[index]
        if stage.from_shaft == stage.to_shaft:
            continue
        if isinstance(stage, FixedStage) and movers:
            yield Fault(
                f"{place[movers[0]]}.mount",
                f"moving {movers[0]} pulls the fixed ratio of stage[{index}] apart",
                as_written(next(shaft.mount for shaft in shafts if shaft.name == movers[0])),
                "a mount that moves both shafts of a fixed ratio, or neither",
                "let one of them ride on the other with `on`",
            )
        if isinstance(stage, BeltStage) and stage.moves and not movers:
            yield Fault(
                f"stage[{index}].travel",
                "no mount changes this centre distance",
                show_length(stage.travel_mm, units),
                "0 where no mount moves",
                f'give {stage.from_shaft} or {stage.to_shaft} mount = "slide" or "hinge" under [[shaft]]',
            )
    short = _short({i: changed[i] for i, stage in enumerate(stages) if isinstance(stage, BeltStage) and changed[i]})
    if short:
        yield _crowded_fault(*short, place)


def _short(changed: Mapping[int, tuple[str, ...]]) -> tuple[tuple[int, ...], tuple[str, ...]] | None:
    """Return stages that have too few mounts besides those that several belts share, with all they have."""
    common = shared(changed)
    served = {stage for stages in common.values() for stage in stages}
    left = {i: [m for m in mounts if m not in common] for i, mounts in changed.items() if i not in served}
    bare = next((i for i, mounts in left.items() if not mounts), None)
    if bare is None:
        return crowded(left)
    mounts = changed[bare]
    return tuple(sorted({bare, *(i for mount in mounts for i in common[mount])})), mounts


def riding_faults(shafts: Sequence[Shaft]) -> Iterator[Fault]:
    """Yield what is wrong with what rides on what."""
    names = {MOTOR, SPINDLE, *(shaft.name for shaft in shafts)}
    for index, shaft in enumerate(shafts):
        if shaft.on is None:
            continue
        if shaft.on not in names:
            allowed = ", ".join(as_written(name) for name in sorted(names - {shaft.name}))
            yield Fault(f"shaft[{index}].on", "there is no such shaft", as_written(shaft.on), f'{allowed}, "frame"')
        elif shaft.name in _carriers(shafts, shaft):
            yield Fault(
                f"shaft[{index}].on",
                "the mounts ride on each other in a circle",
                as_written(shaft.on),
                "a shaft that does not ride on this one",
                'let one of them stand on the "frame"',
            )


def _carriers(shafts: Sequence[Shaft], shaft: Shaft) -> list[str]:
    """Return the names on the way down from a shaft to the frame."""
    by_name = {other.name: other for other in shafts}
    names: list[str] = []
    below = shaft.on
    while below is not None and below not in names:
        names.append(below)
        below = by_name[below].on if below in by_name else None
    return names


def _crowded_fault(stages: tuple[int, ...], mounts: tuple[str, ...], place: Mapping[str, str]) -> Fault:
    """Return the plain sentence for belts that share too few mounts."""
    belts = _listed([f"stage[{index}]" for index in stages])
    ordinal = {1: "second", 2: "third", 3: "fourth"}.get(len(mounts), "further")
    return Fault(
        f"{place[mounts[0]]}.mount",
        f"moving {_listed(mounts)} changes the belts of {belts} at once, and no {ordinal} mount makes up for it",
        _listed(mounts),
        "a mount of its own for every belt that is changed",
        "let another shaft of these belts slide, or let one ride on the other with `on`",
    )


def _listed(words: Sequence[str]) -> str:
    """Join words the way a sentence does."""
    return " and ".join(([", ".join(words[:-1])] if len(words) > 1 else []) + [words[-1]])
