"""What papers and screens say of shafts, keys, balance, starting."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.shafts import KeySheet, ShaftLoadSheet, ShaftsSheet, TurningSheet
from optimizer.records.sheet import MachineSheet
from optimizer.report.carrying import torque_words
from optimizer.report.figures import LBF_N, Units, length, rpm
from optimizer.report.table import Table, plain
from optimizer.report.tables import place_words

__all__ = ["balance_table", "key_table", "run_up_table", "shaft_table", "shaft_words", "shafts_paper"]

FT_MIN_M_S = 0.3048 / 60
PSI_MPA = LBF_N / 25.4**2
OZ_IN_G_M = 453.59237 / 16 * 0.0254
"""One ounce-inch."""
OZ_G = 453.59237 / 16


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
    """Return every cone at the greatest speed of its shaft."""
    inch = units == "in"
    stress = "psi" if inch else "MPa"
    heads = (
        "cone",
        "rpm",
        "rim ft/min" if inch else "rim m/s",
        "of",
        f"stress as a disc {stress}",
        f"as a ring {stress}",
        "unbalance left oz in" if inch else "unbalance left g m",
        "at the rim oz" if inch else "at the rim g",
        "its pull lbf" if inch else "its pull N",
        "balance",
    )
    return Table(heads, tuple(_cone(cone, machine, inch=inch) for cone in shafts.cones))


def _cone(cone: TurningSheet, machine: MachineSheet, *, inch: bool) -> tuple[str, ...]:
    def told(value: float | None, size: float) -> str:
        return "" if value is None else _figure(value / size if inch else value)

    return (
        place_words(cone.key, machine),
        rpm(cone.rpm),
        told(cone.rim_m_s, FT_MIN_M_S),
        cone.material,
        told(cone.stress_mpa, PSI_MPA),
        told(cone.ring_mpa, PSI_MPA),
        told(cone.unbalance_g_m, OZ_IN_G_M),
        told(cone.at_rim_g, OZ_G),
        told(cone.pull_n, LBF_N),
        cone.balance,
    )


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


def shaft_words(shafts: ShaftsSheet, units: Units) -> Iterator[str]:
    """Yield, in a sentence each, which diameters shafts need and how long the heaviest work takes to come up."""
    if shafts.loads:
        yield f"Shafts: {'; '.join(_needs(load, units) for load in shafts.loads)}"
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
    told = "; ".join(dict.fromkeys(cone.source for cone in shafts.cones))
    yield (
        "Each cone at the greatest speed of its shaft: stress of the largest step by its own mass, taken as one "
        "material alike in all directions. No published limit for wooden pulleys was found; keep below the rim speed "
        f"in the checks. Unbalance: {plain(told)}."
    )
    yield balance_table(shafts, machine, units).markdown()
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
