"""What papers and screens say of shafts, keys, balance, starting."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.catalogue.parts import rolling_lever
from optimizer.documents.blocks import Table, plain
from optimizer.documents.carrying import torque_words
from optimizer.documents.figures import LBF_N, Units, length, place_words, rpm
from optimizer.records.mechanics import KeySheet, ShaftLoadSheet, ShaftsSheet, TurningSheet
from optimizer.records.sheet import MachineSheet

__all__ = [
    "balance_notes",
    "balance_table",
    "key_table",
    "run_up_table",
    "shaft_table",
    "shaft_words",
    "shafts_paper",
    "stress_table",
]


FT_MIN_M_S = 0.3048 / 60
PSI_MPA = LBF_N / 25.4**2
OZ_IN_G_M = 453.59237 / 16 * 0.0254
"""One ounce-inch."""
OZ_G = 453.59237 / 16
LB_KG = 0.45359237
LICENCE = (
    "The strength is that of sound material, without a glue fault, crack or knot: where the stress would reach it is a "
    "calculation, no licence to run so fast. No published limit for wooden pulleys was found; the limit is the rim "
    "speed in the checks."
)


def shaft_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return every shaft whose bearings are stated, at its hardest speed."""
    force, torque = ("lbf", "lbf ft") if units == "in" else ("N", "N m")
    heads = (
        "shaft",
        "hardest at rpm",
        f"bending {torque}",
        f"torsion {torque}",
        f"needs {units}",
        f"has {units}",
        f"first bearing {force}",
        f"second {force}",
        "directions of the pulls",
    )
    rows = (
        (
            load.shaft,
            rpm(load.rpm),
            torque_words(load.moment_nm, units),
            torque_words(load.torque_nm, units),
            length(load.needed_mm, units),
            length(load.diameter_mm, units),
            *(_figure(end / LBF_N if units == "in" else end) for end in load.bearings_n),
            "as the shafts stand" if load.directions_known else "not known, the worst counts",
        )
        for load in shafts.loads
    )
    return Table(heads, tuple(rows))


def key_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return the usual key of every keyed shaft that carries a cone, with what is measured over its seats."""
    deep = any(key.shaft_depth_mm is not None for key in shafts.keys)
    depths = (f"t1 {units}", f"t2 {units}") if deep else ()
    over = (f"over the shaft's seat {units}", f"over the hub's seat {units}")
    heads = ("shaft", f"diameter {units}", f"key {units}", *depths, *over, f"at least long {units}", "source")
    return Table(heads, tuple(_key(key, units, deep=deep) for key in shafts.keys))


def _key(key: KeySheet, units: Units, *, deep: bool) -> tuple[str, ...]:
    depths = (key.shaft_depth_mm, key.hub_depth_mm) if deep else ()
    return (
        key.shaft,
        length(key.diameter_mm, units),
        f"{length(key.width_mm, units)} x {length(key.height_mm, units)}",
        *("" if depth is None else length(depth, units) for depth in depths),
        length(key.over_shaft_mm, units),
        length(key.over_hub_mm, units),
        "" if key.length_mm is None else length(key.length_mm, units),
        key.source,
    )


def balance_table(shafts: ShaftsSheet, machine: MachineSheet, units: Units) -> Table:
    """Return how every cone is balanced for the greatest speed of its shaft, grams at the rim whatever the units."""
    inch = units == "in"
    unbalance = "oz in" if inch else "g m"
    heads = (
        "cone",
        "rpm",
        "mass lb" if inch else "mass kg",
        f"unbalance left {unbalance}",
        "at the rim g",
        f"rim's radius {units}",
        "its pull lbf" if inch else "its pull N",
        f"an arbor shows {unbalance}",
        "balance",
    )
    rows = (
        (
            place_words(cone.key, machine),
            rpm(cone.rpm),
            "not known" if cone.mass_kg is None else _told(cone.mass_kg, LB_KG, inch=inch),
            _told(cone.unbalance_g_m, OZ_IN_G_M, inch=inch),
            _told(cone.at_rim_g, 1.0, inch=inch),
            length(cone.radius_mm, units),
            _told(cone.pull_n, LBF_N, inch=inch),
            _told(cone.shown_g_m, OZ_IN_G_M, inch=inch),
            cone.balance,
        )
        for cone in shafts.cones
    )
    return Table(heads, tuple(rows))


def stress_table(shafts: ShaftsSheet, machine: MachineSheet, units: Units) -> Table:
    """Return the stress of every cone's largest step by its own mass, beside a strength and where they would meet."""
    inch = units == "in"
    stress = "psi" if inch else "MPa"
    heads = (
        "cone",
        "rpm",
        "rim ft/min" if inch else "rim m/s",
        "of",
        f"stress as a disc {stress}",
        f"as a ring {stress}",
        f"strength {stress}",
        "ring reaches it at rpm",
    )
    rows = (
        (
            place_words(cone.key, machine),
            rpm(cone.rpm),
            _told(cone.rim_m_s, FT_MIN_M_S, inch=inch),
            cone.material,
            _told(cone.stress_mpa, PSI_MPA, inch=inch),
            _told(cone.ring_mpa, PSI_MPA, inch=inch),
            _told(cone.strength_mpa, PSI_MPA, inch=inch),
            "" if cone.strength_rpm is None else f"{float(f'{cone.strength_rpm:.2g}'):.0f}",
        )
        for cone in shafts.cones
    )
    return Table(heads, tuple(rows))


def balance_notes(shafts: ShaftsSheet) -> Iterator[str]:
    """Yield where the figures of balance and strength come from, and what they are no licence for."""
    told = dict.fromkeys(cone.source for cone in shafts.cones)
    yield f"Unbalance: {'; '.join(told)}."
    shows = "hub and steel arbor weigh with it where their diameters are stated; the arbor reaches 50 mm past each face"
    yield f"What an arbor shows: {rolling_lever()[1]}; {shows}."
    yield f"Mass and strength: {'; '.join(dict.fromkeys(cone.strength_source for cone in shafts.cones))}."
    yield LICENCE


def _told(value: float | None, size: float, *, inch: bool) -> str:
    return "" if value is None else _figure(value / size if inch else value)


def run_up_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return how long the heaviest work takes to come up to every speed."""
    heads = ("speed", "rpm", f"torque counted on {'lbf ft' if units == 'in' else 'N m'}", "seconds")
    rows = (
        (
            str(run.number),
            rpm(run.rpm),
            torque_words(run.torque_nm, units),
            "never" if run.seconds is None else f"{run.seconds:.1f}",
        )
        for run in shafts.run_ups
    )
    return Table(heads, tuple(rows))


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


def shafts_paper(shafts: ShaftsSheet, machine: MachineSheet, units: Units) -> Iterator[str]:
    """Yield the section of the design sheet."""
    yield "## Shafts, keys, balance"
    yield "\n".join(f"- **{line}**" for line in shafts.cautions)
    if shafts.loads:
        sources = "; ".join(dict.fromkeys(load.source for load in shafts.loads))
        yield (
            "Shafts between their bearings, at the speed that is hardest on each; bearings at their own greatest load. "
            "Belts are taken to be tightened until they carry the full power, even beyond their rating. Weights, and "
            f"what the work does to the spindle, are not counted. Stresses: {plain(sources)}."
        )
        yield shaft_table(shafts, units).markdown()
    if shafts.keys:
        yield (
            "Usual keys by shaft, sizes from the bottom of a seat to the far side of shaft or bore. The length is the "
            "least for the greatest power asked of the belts."
        )
        yield key_table(shafts, units).markdown()
    for flat in shafts.flats:
        yield f"{flat.words(lambda mm: f'{length(mm, units)} {units}')} ({flat.source}.)"
    yield "Balance of each cone for the greatest speed of its shaft, without load."
    yield balance_table(shafts, machine, units).markdown()
    yield (
        "Stress of each cone's largest step by its own mass at that speed, taken as one material alike in all "
        "directions."
    )
    yield stress_table(shafts, machine, units).markdown()
    yield "\n".join(f"- {plain(line)}" for line in balance_notes(shafts))
    if shafts.run_ups:
        yield (
            "Bringing the heaviest work up to speed without cutting, with the least of what motor and belts give from "
            "standstill on; friction and the motor's own inertia are not counted."
        )
        yield run_up_table(shafts, units).markdown()


def _figure(value: float) -> str:
    """Return three digits: loads are known no finer.

    Examples
    --------
    >>> _figure(12345.0), _figure(2.0), _figure(0.0831)
    ('12300', '2.00', '0.0831')
    """
    return f"{float(f'{value:.3g}'):.0f}" if abs(value) >= 99.95 else f"{value:#.3g}"
