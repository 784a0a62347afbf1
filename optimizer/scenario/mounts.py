"""Mounts of the shafts, and those whose one movement changes several belts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from optimizer.errors import Fault
from optimizer.quantities import as_written, show_length
from optimizer.scenario.chain import MOTOR, SPINDLE
from optimizer.scenario.stage import BeltStage, FixedStage

__all__ = [
    "SharedMount",
    "carried",
    "changes",
    "coupled_faults",
    "crowded",
    "lone_paths",
    "mount_faults",
    "riding_faults",
    "shared",
    "shared_mounts",
    "taken_mm",
]

if TYPE_CHECKING:
    from optimizer.scenario.shop import Shaft


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


if TYPE_CHECKING:
    from optimizer.geometry.settings import Path
    from optimizer.scenario.shop import Shaft


LEAST_SLOPE = 0.05
"""A movement changes a centre distance by at least this share of itself; judgement."""
Stages = Sequence[BeltStage | FixedStage]


class SharedMount(NamedTuple):
    """A mount with the belts that only it changes."""

    mount: str
    stages: tuple[int, ...]
    """Their places in the file's list of stages."""
    paths: tuple[Path, ...]
    """For each of them, the centre distance by the mount's setting, which draws the first that has travel taut."""


def shared_mounts(shafts: Sequence[Shaft], stages: Stages) -> tuple[SharedMount, ...]:
    """Return every mount whose one setting must fit several belts.

    Settings grow the way in which the first of the belts that have travel grows tighter. Where the places of its shafts
    are not stated, which no legal file leaves out, a mount is not there.
    """
    found = []
    for mount, numbers in _groups(shafts, stages).items():
        by_name = {shaft.name: shaft for shaft in shafts}
        if _missing(by_name, mount, [stages[i] for i in numbers]):
            continue
        paths = [_path(by_name, mount, stages[i]) for i in numbers]
        leads = next((n for n, i in enumerate(numbers) if _moves(stages[i])), 0)
        if not paths[leads].grows:
            paths = [path.reversed() for path in paths]
        found.append(SharedMount(mount, numbers, tuple(paths)))
    return tuple(found)


def lone_paths(shafts: Sequence[Shaft], stages: Stages) -> dict[int, Path]:
    """Return the centre distance by the setting of its mount, for stages that have a mount of their own alone.

    Stages are by their places in the file's list; those of which a place is not stated are left out.
    """
    by_name, common = {shaft.name: shaft for shaft in shafts}, _groups(shafts, stages)
    return {
        number: _path(by_name, mounts[0], stages[number])
        for number, mounts in changes(shafts, stages).items()
        if len(mounts) == 1 and mounts[0] not in common and not _missing(by_name, mounts[0], [stages[number]])
    }


def taken_mm(stages: Stages, numbers: Sequence[int]) -> tuple[float, ...]:
    """Return what of `fit` the length tolerance and the stretch take of each belt on a shared mount [mm].

    One movement follows one belt. The others follow it where they are made up to length, or have something of their own
    to take them up. Where several do not, nothing but what the belts forgive takes up their tolerance and stretch.
    """
    loose = _unfollowed(stages, numbers)
    taken = []
    for number in numbers:
        stage = stages[number]
        assert isinstance(stage, BeltStage)
        lines = (stage.budget.tolerance_mm or 0.0) + (stage.budget.stretch_mm or 0.0)
        taken.append(lines if len(loose) > 1 and number in loose else 0.0)
    return tuple(taken)


def coupled_faults(shafts: Sequence[Shaft], stages: Stages, units: str) -> Iterator[Fault]:
    """Yield what is wrong with, or missing of, mounts whose one movement changes several belts."""
    if list(riding_faults(shafts)) or len({shaft.name for shaft in shafts}) < len(shafts):
        return
    by_name = {shaft.name: shaft for shaft in shafts}
    place = {shaft.name: f"shaft[{index}]" for index, shaft in enumerate(shafts)}
    for mount, numbers in _groups(shafts, stages).items():
        missing = _missing(by_name, mount, [stages[i] for i in numbers])
        if missing:
            belts = " and ".join(f"stage[{i}]" for i in numbers)
            yield Fault(
                f"{place[mount]}.mount",
                f"moving {mount} changes the belts of {belts} at once, and the places that tell which settings fit all "
                "of them are not stated",
                as_written(by_name[mount].mount),
                f"{', '.join(missing)} beside it",
                "state them, or let another shaft of these belts slide, or let one ride on the other with `on`",
            )
    for common in shared_mounts(shafts, stages):
        straight = list(_turning(common, place, stages, units))
        yield from straight
        if not straight:
            yield from _apart(common, stages, units)
        yield from _opposed(common, stages, units)
        yield from _untaken(common, stages, units)


def _groups(shafts: Sequence[Shaft], stages: Stages) -> dict[str, tuple[int, ...]]:
    changed = changes(shafts, stages)
    return shared({i: changed[i] for i, stage in enumerate(stages) if isinstance(stage, BeltStage) and changed[i]})


def _missing(by_name: dict[str, Shaft], mount: str, stages: Stages) -> list[str]:
    """Return what is not stated of the places that settings follow from."""
    names = dict.fromkeys([mount, *(name for stage in stages for name in (stage.from_shaft, stage.to_shaft))])
    missing = [f"at of {name}" for name in names if name not in by_name or by_name[name].at_mm is None]
    shaft = by_name[mount]
    if shaft.mount == "slide" and shaft.direction_deg is None:
        missing.append(f"direction of {mount}")
    if shaft.mount == "hinge" and shaft.hinge is None:
        missing.append(f"hinge of {mount}")
    return missing


def _path(by_name: dict[str, Shaft], mount: str, stage: BeltStage | FixedStage) -> Path:
    # numpy takes longer to load than most files take to read, and few machines have such a mount
    from optimizer.geometry.settings import slide_past, swing_past

    moved = carried(tuple(by_name.values()), mount)
    ends = (stage.from_shaft, stage.to_shaft)
    rider, other = (by_name[name].at_mm for name in (ends if ends[0] in moved else ends[::-1]))
    shaft = by_name[mount]
    assert rider is not None and other is not None and shaft.at_mm is not None
    if shaft.hinge is not None:
        return swing_past(rider, other, shaft.hinge.at_mm, shaft.at_mm)
    return slide_past(rider, other, shaft.direction_deg or 0.0)


def _moves(stage: BeltStage | FixedStage) -> bool:
    return isinstance(stage, BeltStage) and stage.moves


def _unfollowed(stages: Stages, numbers: Sequence[int]) -> list[int]:
    """Return the stages whose belts have a set length, with nothing of their own that takes it up."""
    loose = []
    for number in numbers:
        stage = stages[number]
        if isinstance(stage, BeltStage) and not stage.belt.joined and not stage.slackened:
            loose.append(number)
    return loose


def _belts(common: SharedMount, stages: Stages) -> Iterator[tuple[int, BeltStage, Path]]:
    for number, path in zip(common.stages, common.paths, strict=True):
        stage = stages[number]
        assert isinstance(stage, BeltStage)
        yield number, stage, path


def _turning(common: SharedMount, place: dict[str, str], stages: Stages, units: str) -> Iterator[Fault]:
    """Yield centre distances between which the movement turns round, or that it hardly changes."""
    for number, stage, path in _belts(common, stages):
        if abs(float(path.slope(0.0))) < LEAST_SLOPE:
            yield Fault(
                f"{place[common.mount]}.at",
                f"from its stated place, moving {common.mount} hardly changes the centre distance of stage[{number}]",
                allowed=f"a place where it changes by {LEAST_SLOPE:.0%} of the movement or more",
                advice="correct the places of the shafts, or move the shaft along another line",
            )
            continue
        low, high = path.span_mm
        if stage.centres_mm[0] < low or stage.centres_mm[1] > high:
            upper = f" to {show_length(round(high, 3), units)}" if high < float("inf") else " on"
            yield Fault(
                f"stage[{number}].centres",
                f"moving {common.mount} one way does not make this centre distance grow all the way, it turns round",
                " to ".join(show_length(value, units) for value in stage.centres_mm),
                f"within what grows one way: from {show_length(round(low, 3), units)}{upper}",
                "narrow centres to the part that is meant",
            )


def _apart(common: SharedMount, stages: Stages, units: str) -> Iterator[Fault]:
    """Yield stages whose centre distances come at no setting at which those of the first do."""
    spans = []
    for _, stage, path in _belts(common, stages):
        low, high = stage.centres_mm
        ends = sorted(float(path.setting_mm(value)) for value in (low - stage.fit_mm, high + stage.fit_mm))
        spans.append((ends[0], ends[1]))
    first = spans[0]
    for (number, stage, path), span in zip(_belts(common, stages), spans, strict=True):
        if span[0] > first[1] or span[1] < first[0]:
            there = sorted(float(path.centre_mm(setting)) for setting in first)
            yield Fault(
                f"stage[{number}].centres",
                f"where moving {common.mount} keeps stage[{common.stages[0]}] within its centres, this one is not",
                " to ".join(show_length(value, units) for value in stage.centres_mm),
                f"some of {' to '.join(show_length(round(value, 2), units) for value in there)}",
                "correct centres or the places of the shafts",
            )


def _opposed(common: SharedMount, stages: Stages, units: str) -> Iterator[Fault]:
    """Yield stages that a movement slackens while it draws another taut, though both are to be tensioned by it."""
    for number, stage, path in _belts(common, stages):
        if stage.moves and not path.grows:
            yield Fault(
                f"stage[{number}].travel",
                f"moving {common.mount} slackens this belt while it draws another taut, so it cannot tension both",
                show_length(stage.travel_mm, units),
                "0 for all but those that it draws taut together",
                'state travel = 0 with a belt of lengths = "any", or with what slackens it',
            )


def _untaken(common: SharedMount, stages: Stages, units: str) -> Iterator[Fault]:
    """Yield belts whose length tolerance and stretch nothing takes up."""
    loose = _unfollowed(stages, common.stages)
    for number, stage, _ in _belts(common, stages) if len(loose) > 1 else ():
        lines = stage.budget.tolerance_mm, stage.budget.stretch_mm
        if number in loose and (None in lines or sum(line or 0.0 for line in lines) > stage.fit_mm):
            named = " and ".join(f"stage[{i}]" for i in loose)
            yield Fault(
                f"stage[{number}].belt",
                f"one movement of {common.mount} cannot take up the lengths and the stretch of the belts of {named}",
                f"lengths {as_written(stage.belt.lengths)}",
                f"all but one of them made up to length, with a tensioner said under slackened, or with "
                f"budget.tolerance and budget.stretch of {show_length(stage.fit_mm, units)} (fit) together",
                'lengths = "any" for a link or joined belt is the plain way',
            )
