"""What papers and screens say of shafts, keys, balance, starting."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.catalogue.parts import rolling_lever
from optimizer.documents.blocks import (
    MARKDOWN,
    PAGE,
    TERMINAL,
    Block,
    Lines,
    Output,
    Rank,
    Rows,
    Section,
    Table,
    Text,
    table_of,
)
from optimizer.documents.figures import Units, amount, decimals, length, place_words, rpm, three, unit_of
from optimizer.records.shafts import ShaftLoadSheet, ShaftsSheet, TurningSheet
from optimizer.records.sheet import MachineSheet

__all__ = ["balance_table", "key_table", "run_up_table", "shaft_table", "shafts_sections", "stress_table"]


LICENCE = (
    "The strength is that of sound material, without a glue fault, crack or knot: where the stress would reach it is a "
    "calculation, no licence to run so fast. No published limit for wooden pulleys was found; the limit is the rim "
    "speed in the checks."
)


def shaft_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return every shaft whose bearings are stated, at its hardest speed."""
    force, torque = unit_of("N", units), unit_of("N m", units)
    return table_of(
        shafts.loads,
        ("shaft", lambda load: load.shaft),
        ("hardest at rpm", lambda load: rpm(load.rpm)),
        (f"bending {torque}", lambda load: amount(load.moment_nm, "N m", units)),
        (f"torsion {torque}", lambda load: amount(load.torque_nm, "N m", units)),
        (f"needs {units}", lambda load: length(load.needed_mm, units)),
        (f"has {units}", lambda load: length(load.diameter_mm, units)),
        (f"first bearing {force}", lambda load: amount(load.bearings_n[0], "N", units)),
        (f"second {force}", lambda load: amount(load.bearings_n[1], "N", units)),
        (
            "directions of the pulls",
            lambda load: "as the shafts stand" if load.directions_known else "not known, the worst counts",
        ),
    )


def key_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return the usual key of every keyed shaft that carries a cone, with what is measured over its seats."""
    deep = any(key.shaft_depth_mm is not None for key in shafts.keys)
    return table_of(
        shafts.keys,
        ("shaft", lambda key: key.shaft),
        (f"diameter {units}", lambda key: length(key.diameter_mm, units)),
        (f"key {units}", lambda key: f"{length(key.width_mm, units)} x {length(key.height_mm, units)}"),
        (f"t1 {units}", lambda key: length(key.shaft_depth_mm, units, "")) if deep else None,
        (f"t2 {units}", lambda key: length(key.hub_depth_mm, units, "")) if deep else None,
        (f"over the shaft's seat {units}", lambda key: length(key.over_shaft_mm, units)),
        (f"over the hub's seat {units}", lambda key: length(key.over_hub_mm, units)),
        (f"at least long {units}", lambda key: length(key.length_mm, units, "")),
        ("source", lambda key: key.source),
    )


def balance_table(shafts: ShaftsSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how every cone is balanced for the greatest speed of its shaft, grams at the rim whatever the units."""
    unbalance = unit_of("g m", units)
    return table_of(
        shafts.cones,
        ("cone", lambda cone: place_words(cone.key, machine)),
        ("rpm", lambda cone: rpm(cone.rpm)),
        (f"mass {unit_of('kg', units)}", lambda cone: amount(cone.mass_kg, "kg", units) or "not known"),
        (f"unbalance left {unbalance}", lambda cone: amount(cone.unbalance_g_m, "g m", units)),
        ("at the rim g", lambda cone: "" if cone.at_rim_g is None else three(cone.at_rim_g)),
        (f"rim's radius {units}", lambda cone: length(cone.radius_mm, units)),
        (f"its pull {unit_of('N', units)}", lambda cone: amount(cone.pull_n, "N", units)),
        (f"an arbor shows {unbalance}", lambda cone: amount(cone.shown_g_m, "g m", units)),
        ("balance", lambda cone: cone.balance),
    )


def stress_table(shafts: ShaftsSheet, machine: MachineSheet, units: Units) -> Table:
    """Return the stress of every cone's largest step by its own mass, beside a strength and where they would meet."""
    stress = unit_of("MPa", units)
    return table_of(
        shafts.cones,
        ("cone", lambda cone: place_words(cone.key, machine)),
        ("rpm", lambda cone: rpm(cone.rpm)),
        (f"rim {unit_of('m/s', units)}", lambda cone: amount(cone.rim_m_s, "m/s", units)),
        ("of", lambda cone: cone.material),
        (f"stress as a disc {stress}", lambda cone: amount(cone.stress_mpa, "MPa", units)),
        (f"as a ring {stress}", lambda cone: amount(cone.ring_mpa, "MPa", units)),
        (f"strength {stress}", lambda cone: amount(cone.strength_mpa, "MPa", units)),
        (
            "ring reaches it at rpm",
            lambda cone: "" if cone.strength_rpm is None else f"{float(f'{cone.strength_rpm:.2g}'):.0f}",
        ),
    )


def balance_notes(shafts: ShaftsSheet) -> Iterator[str]:
    """Yield where the figures of balance and strength come from, and what they are no licence for."""
    told = dict.fromkeys(cone.source for cone in shafts.cones)
    yield f"Unbalance: {'; '.join(told)}."
    shows = "hub and steel arbor weigh with it where their diameters are stated; the arbor reaches 50 mm past each face"
    yield f"What an arbor shows: {rolling_lever()[1]}; {shows}."
    yield f"Mass and strength: {'; '.join(dict.fromkeys(cone.strength_source for cone in shafts.cones))}."
    yield LICENCE


def run_up_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return how long the heaviest work takes to come up to every speed."""
    return table_of(
        shafts.run_ups,
        ("speed", lambda run: str(run.number)),
        ("rpm", lambda run: rpm(run.rpm)),
        (f"torque counted on {unit_of('N m', units)}", lambda run: amount(run.torque_nm, "N m", units)),
        ("seconds", lambda run: decimals(run.seconds, 1) or "never"),
    )


def shaft_words(shafts: ShaftsSheet, machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield, in a sentence each, what shafts need, what unbalance turned cones may keep, how long the work comes up."""
    if shafts.loads:
        yield f"Shafts: {'; '.join(_needs(load, units) for load in shafts.loads)}"
    turned = [cone for cone in shafts.cones if cone.mass_kg is not None]
    if turned:
        yield f"Unbalance left at most: {'; '.join(_left(cone, machine, units) for cone in turned)}"
    never = [run for run in shafts.run_ups if run.seconds is None]
    if never:
        yield f"Run-up: the belts do not bring the heaviest work up to {rpm(never[0].rpm)} rpm"
    elif shafts.run_ups:
        slowest = max(shafts.run_ups, key=lambda run: (run.seconds or 0.0, run.number))
        yield f"Run-up: the heaviest work takes {slowest.seconds:.1f} s to {rpm(slowest.rpm)} rpm, the longest of all"


def _needs(load: ShaftLoadSheet, units: Units) -> str:
    stated = f", has {length(load.diameter_mm, units)}" if load.diameter_mm is not None else ""
    worst = "" if load.directions_known else " with the pulls in the worst directions"
    return f"{load.shaft} needs {length(load.needed_mm, units)} {units}{worst}{stated}"


def _left(cone: TurningSheet, machine: MachineSheet, units: Units) -> str:
    planes = " (balance in two planes)" if cone.two_planes else ""
    return f"{place_words(cone.key, machine)}, {cone.left_words(lambda mm: f'{length(mm, units)} {units}')}{planes}"


def shafts_sections(shafts: ShaftsSheet, machine: MachineSheet, units: Units) -> Iterator[Section]:
    """Yield what shafts need, then loads, keys, balance, stress, starting."""
    said = list(shaft_words(shafts, machine, units))
    yield from (Section("", [Text(line, rank=Rank.ANSWER)], only=TERMINAL) for line in said)
    blocks: list[Block] = [
        Lines(shafts.cautions, look="cautions"),
        Lines([f"{line}." for line in said], only=PAGE),
    ]
    if shafts.loads:
        sources = list(dict.fromkeys(load.source for load in shafts.loads))
        blocks += [
            Text(
                "Shafts between their bearings, at the speed that is hardest on each; bearings at their own greatest "
                "load. Belts are taken to be tightened until they carry the full power, even beyond their rating. "
                "Weights, and what the work does to the spindle, are not counted. "
                f"Stresses: {'; '.join(sources)}.",
                only=MARKDOWN,
            ),
            Rows(shaft_table(shafts, units), "Shafts between their bearings, each at its hardest speed"),
            Lines([f"Stresses: {source}." for source in sources], rank=Rank.PROOF, only=PAGE),
        ]
    if shafts.keys:
        blocks += [
            Text(
                "Usual keys by shaft, sizes from the bottom of a seat to the far side of shaft or bore. The length is "
                "the least for the greatest power asked of the belts.",
                only=MARKDOWN,
            ),
            Rows(key_table(shafts, units), "Usual keys, and what is measured over their seats"),
        ]
    flats = (flat.words(lambda mm: f"{length(mm, units)} {units}") + f" ({flat.source}.)" for flat in shafts.flats)
    blocks += (Text(line, only=MARKDOWN) for line in flats)
    balance, stress = balance_table(shafts, machine, units), stress_table(shafts, machine, units)
    where = tuple(Output)[1:] if shafts.cones else MARKDOWN
    blocks += [
        Text("Balance of each cone for the greatest speed of its shaft, without load.", only=MARKDOWN),
        Rows(balance, "Balance of cones at their greatest speed", only=where),
        Text(
            "Stress of each cone's largest step by its own mass at that speed, taken as one material alike in all "
            "directions.",
            only=MARKDOWN,
        ),
        Rows(stress, "Stress of their largest steps by their own mass", only=where),
        Lines(list(balance_notes(shafts)), rank=Rank.PROOF, only=where),
    ]
    if shafts.run_ups:
        blocks += [
            Text(
                "Bringing the heaviest work up to speed without cutting, with the least of what motor and belts give "
                "from standstill on; friction and the motor's own inertia are not counted.",
                only=MARKDOWN,
            ),
            Rows(run_up_table(shafts, units), "Bringing the heaviest work up to speed, without cutting"),
        ]
    yield Section("Shafts, keys, balance", blocks)
