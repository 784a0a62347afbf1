"""The section of mounts that weight, a spring or a screw draws."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import Literal

import numpy as np

from optimizer.checks.hanging import Balance, Span, balances, does, hinge_spans, mass_span, pull_span
from optimizer.checks.stated import Machine, read_machine
from optimizer.mechanics.tension import pressing_force_n
from optimizer.records.built import BuiltMachine
from optimizer.records.mechanics import HangingSheet, HungSheet, MountSheet, SpanSheet
from optimizer.scenario import Scenario
from optimizer.scenario.chain import MOTOR

__all__ = ["hanging_sheet"]


def hanging_sheet(scenario: Scenario, built: BuiltMachine) -> HangingSheet | None:
    """Return how the mounts draw their belts, nothing where no mount's place and no belt's power is known."""
    machine = read_machine(scenario, built)
    found = [balance for balance in balances(machine)[0] if _worth(balance)][::-1]
    told = tuple(_mount(machine, balance) for balance in found)
    return HangingSheet(mounts=told, cautions=tuple(_cautions(found))) if told else None


def _cautions(found: list[Balance]) -> Iterator[str]:
    """Yield the cautions on mounts like these: of what hangs where something does, of the motor where it moves."""
    hung = [balance for balance in found if balance.scene.mount.mount == "hinge" and not balance.locked]
    swings = any(MOTOR in balance.scene.moved for balance in found if balance.scene.mount.mount == "hinge")
    if hung:
        what = "motor" if any(MOTOR in balance.scene.moved for balance in hung) else "mount"
        yield (
            f"A hung {what} falls when its belt breaks or comes off, and lifts and slams when the machine jams: stop "
            "it with a chain or a bracket under it, and keep hands out from under it."
        )
        yield "Lift the weight off, or prop the mount, before the belt is moved; the machine at rest, its plug pulled."
    else:
        yield "Take the pull off the mount before the belt is moved; the machine at rest, its plug pulled."
    if swings:
        yield (
            "The motor's cable must give way as the motor swings, and not be what it hangs by: a competent person "
            "wires it."
        )
    elif any(MOTOR in balance.scene.moved for balance in found):
        yield "The motor's cable must give way as the motor moves: a competent person wires it."
    kinds = [f"stiff {kind}s" for kind in ("hinge", "slide") if any(b.scene.mount.mount == kind for b in found)]
    left_out = [*kinds, *(["a swinging motor"] if swings else []), "hard starts"]
    said = f"{', '.join(left_out)} are not in these figures: try it with a light cut first."
    yield said[0].upper() + said[1:]


def _worth(balance: Balance) -> bool:
    """Tell whether anything is known of a mount: its pulls, or what its belt asks for."""
    return not balance.unstated or not bool(np.all(np.isnan(balance.load.difference_n)))


def _mount(machine: Machine, balance: Balance) -> MountSheet:
    mount = balance.scene.mount
    known = not balance.unstated
    pulled, hung = pull_span(balance), mass_span(balance)
    hinge = mount.hinge if mount.mount == "hinge" else None
    return MountSheet(
        shaft=mount.name,
        kind="hinge" if mount.mount == "hinge" else "slide",
        key=machine.pairs[balance.scene.number].key,
        locked=mount.locked,
        unstated=balance.unstated,
        nearer=_nearer(balance),
        rows=_rows(balance),
        does=does(balance) if known and pulled is not None else None,
        pull_n=_span(pulled),
        mass_kg=_span(hung),
        hinge_mm=tuple(SpanSheet(**span._asdict(), some=True) for span in hinge_spans(machine, balance)),
        line_deg=None if hinge is None else hinge.line_deg,
        press_n=_press(balance),
    )


def _span(span: Span | None) -> SpanSheet | None:
    if span is None or not (isfinite(span.least) and isfinite(span.most)):
        return None
    return SpanSheet(least=span.least, most=span.most, some=span.some)


def _nearer(balance: Balance) -> Literal["tight", "slack", "even"] | None:
    if balance.scene.mount.mount != "hinge":
        return None
    tight, slack = abs(float(balance.levers.tight[0])), abs(float(balance.levers.slack[0]))
    if abs(tight - slack) < 1e-3:
        return "even"
    return "tight" if tight < slack else "slack"


def _rows(balance: Balance) -> tuple[HungSheet, ...]:
    """Return, for every position with a new and with a worn belt, the state in which its belt has least to spare."""
    spare = balance.slack_n - balance.needed_slack_n
    worst: dict[tuple[bool, int], int] = {}
    for row, state in enumerate(balance.scene.states):
        stand = state[balance.scene.number]
        place = (stand.when == "worn out", stand.position)
        if place not in worst or spare[row] < spare[worst[place]]:
            worst[place] = row
    return tuple(_row(balance, worst[place]) for place in sorted(worst))


def _row(balance: Balance, row: int) -> HungSheet:
    stand = balance.scene.states[row][balance.scene.number]
    known = not balance.unstated
    scale = 1000.0 if balance.scene.mount.mount == "hinge" else 1.0
    sense = -float(balance.levers.sense[row]) * scale
    return HungSheet(
        position=stand.position + 1,
        worn=stand.when == "worn out",
        rpm=float(balance.load.rpm[row]),
        tight_lever=_known(balance.levers.tight[row] * sense),
        slack_lever=_known(balance.levers.slack[row] * sense),
        rest_n=_known(balance.rest_n[row]) if known else None,
        tight_n=_known(balance.tight_n[row]) if known else None,
        slack_n=_known(balance.slack_n[row]) if known else None,
        needed_slack_n=_known(balance.needed_slack_n[row]),
        most_n=_known(balance.load.most_n[row]),
        carries_kw=_known(balance.carries_kw()[row]) if known else None,
        must_kw=_known(balance.load.must_kw[row]),
    )


def _known(value: float) -> float | None:
    return float(value) + 0.0 if isfinite(value) else None


def _press(balance: Balance) -> tuple[float, float] | None:
    """Return the force that tells a strand drawn just enough, and one drawn as hard as it may be, where that is more.

    Enough is meant for a mount that the load neither tightens nor slackens.
    """
    least, most = balance.load.press_n + balance.load.centrifugal_n, balance.load.most_n
    if np.all(np.isnan(least)) or np.nanmax(least) >= np.nanmin(most):
        return None
    return float(pressing_force_n(np.nanmax(least))), float(pressing_force_n(np.nanmin(most)))
