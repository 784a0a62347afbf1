"""The blank of a timber cone, step by step: from the sheet to a stack that can be mounted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from optimizer.catalogue.plywood import ply_of
from optimizer.cuts.bench_words import listed
from optimizer.cuts.cones import CutLayer
from optimizer.cuts.facing import large_end, off_line_left_mm, turned_parts
from optimizer.cuts.in_hand import disc_words
from optimizer.cuts.work_step import GEOMETRY, PRACTICE, OrderOf, WorkStep, step

__all__ = ["blank_steps"]

SAME_MM = 1e-6
SAWING = "Guard and riving knife on, push sticks, dust kept from the lungs; local rules for sawing come first."


def blank_steps(order: OrderOf) -> Iterator[WorkStep]:
    """Yield how the blank of a timber cone is made."""
    if not order.glued:
        yield _built_up(order)
        return
    yield _measured(order)
    yield _sawn(order)
    yield _stacked(order)


def _measured(order: OrderOf) -> WorkStep:
    """Return the step that holds real plywood against the layer that was counted on."""
    words, layers = order.words, order.cone.layers
    layer, count = layers[0].thickness_mm, len(layers)
    ply = ply_of(layer)
    check = f"One layer {words.size(layer)}, the dry stack of {count} {words.size(count * layer)}."
    if ply is not None and ply.limits_mm is not None:
        low, high = ply.limits_mm
        check += (
            f" Birch plywood of nominal {ply.nominal_mm:g} mm is {words.size(ply.mean_mm)} on average and may be "
            f"{words.size(low)} to {words.size(high)}, so the stack may come to {words.size(count * low)} to "
            f"{words.size(count * high)}."
        )
    left = off_line_left_mm(order.cone)
    if left is not None:
        check += (
            f" A step may be {words.most(left)} wider or narrower than the facing cone's before an outer belt runs out "
            "of line."
        )
    return step(
        "measure the plywood",
        "Measure the sheet in five places, and a dry stack of all layers of this cone pressed together.",
        check,
        f"Take the layers of {'both' if len(order.cone.faces) == 1 else 'all three'} facing cones from the same "
        "sheets. Where the stack differs, set out the grooves by the places in this list, not by the glue lines.",
        f"{ply.source}; {GEOMETRY}" if ply is not None else GEOMETRY,
    )


def _sawn(order: OrderOf) -> WorkStep:
    """Return the step from sheet to discs."""
    words = order.words
    by_size: dict[float, list[CutLayer]] = defaultdict(list)
    for layer in order.cone.layers:
        by_size[layer.round_mm].append(layer)
    squares = "; ".join(
        f"{len(same)} of {words.size(same[0].square_mm)} (layer{'s' if len(same) > 1 else ''} "
        f"{listed([str(layer.number) for layer in same])})"
        for _, same in sorted(by_size.items(), reverse=True)
    )
    return step(
        "saw squares, then discs",
        f"Saw squares as the sawing plan shows: {squares}. Mark on each its number and the run of its face grain, find "
        f"the middle by the diagonals, saw it round. {disc_words(order.cone, order.job, words)}".rstrip(),
        "Round, as wide as its square: " + order.each({s.position: s.blank_mm for s in order.cone.turned}) + ".",
        SAWING,
        PRACTICE,
    )


def _stacked(order: OrderOf) -> WorkStep:
    """Return the step that glues the stack, large end first."""
    layers = order.cone.layers
    numbers = [str(layer.number) for layer in layers]
    if large_end(order.cone) == "last":
        numbers.reverse()
    left = order.left_on_mm
    off = min(max(s.blank_mm - s.outside_mm - left, 0.0) / 2 for s in order.cone.turned if s.blank_mm is not None)
    way = "" if large_end(order.cone) is None else "from the large end to the small end, "
    apart = "" if len(turned_parts(order.cone)) == 1 else ", each run of turned steps a stack of its own"
    turned = "" if len(layers) == 1 else ", the face grain of each layer turned 90 degrees to the one below"
    return step(
        "glue the stack",
        f"{_planed(order)}Stack {way}layer{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}{turned}, middle on "
        f"middle over a dowel{apart}. "
        "Glue all of both faces, clamp from the middle outwards, leave it clamped as long as the glue's maker says.",
        f"No disc more than {order.words.most(off)} off the middle, or its rim does not clean up; no gap at any glue "
        "line.",
        "Never turn a stack with an open glue line or a split.",
        PRACTICE,
    )


def _planed(order: OrderOf) -> str:
    """Return what is said where whole layers make more than the width of a step."""
    first = order.cone.turned[0]
    width, made = first.to_mm - first.from_mm, (first.layers or 0) * order.cone.layers[0].thickness_mm
    if made - width < SAME_MM:
        return ""
    return (
        f"The layers of one step make {order.words.size(made)}, a step is {order.words.size(width)} wide: plane each "
        "step's layers to that first. "
    )


def _built_up(order: OrderOf) -> WorkStep:
    """Return the step of a blank of which no layer is stated."""
    words = order.words
    width = order.cone.turned[0].to_mm - order.cone.turned[0].from_mm
    blanks = order.each({s.position: s.blank_mm for s in order.cone.turned})
    return step(
        "make the blank",
        "The thickness of a layer is not stated, so no layers are listed. Glue the blank up from plywood or from "
        "segments, the grain of each layer turned to that of the next, and let it rest as the glue's maker says. "
        f"{disc_words(order.cone, order.job, words)}".rstrip(),
        f"{words.size(width)} wide for every step, {words.size(width * len(order.cone.turned))} in all; round: "
        f"{blanks}.",
        f"A glued block of solid wood may split along its grain. {SAWING}",
        PRACTICE,
    )
