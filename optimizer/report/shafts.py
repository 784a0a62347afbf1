"""What papers say of shafts, keys, balance, starting."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.shafts import KeySheet, ShaftsSheet
from optimizer.report.carrying import LBF_N, torque_words
from optimizer.report.figures import Units, length, rpm
from optimizer.report.table import Table

__all__ = ["balance_table", "key_table", "run_up_table", "shaft_table", "shafts_paper"]


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
        f"bearings {force}",
        "directions of the pulls",
        "source",
    )
    rows = (
        (
            load.shaft,
            rpm(load.rpm),
            torque_words(load.moment_nm, units),
            torque_words(load.torque_nm, units),
            length(load.needed_mm, units),
            length(load.diameter_mm, units),
            ", ".join(_figure(end / LBF_N if units == "in" else end) for end in load.bearings_n),
            "as the shafts stand" if load.directions_known else "not known, the worst counts",
            load.source,
        )
        for load in shafts.loads
    )
    return Table(heads, tuple(rows))


def key_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return the usual key of every shaft that carries a cone."""
    over = any(key.over_shaft_mm is not None for key in shafts.keys)
    depth = ("shaft S", "hub T") if over else ("in the shaft t1", "in the hub t2")
    heads = ("shaft", f"diameter {units}", f"key {units}", *(f"{d} {units}" for d in depth), "longer than", "source")
    return Table(heads, tuple(_key(key, units, over=over) for key in shafts.keys))


def _key(key: KeySheet, units: Units, *, over: bool) -> tuple[str, ...]:
    depths = (key.over_shaft_mm, key.over_hub_mm) if over else (key.shaft_depth_mm, key.hub_depth_mm)
    return (
        key.shaft,
        length(key.diameter_mm, units),
        f"{length(key.width_mm, units)} x {length(key.height_mm, units)}",
        *(length(depth, units) for depth in depths),
        "" if key.length_mm is None else f"{length(key.length_mm, units)} {units}",
        key.source,
    )


def balance_table(shafts: ShaftsSheet) -> Table:
    """Return every cone at the greatest speed of its shaft."""
    heads = (
        "cone",
        "rpm",
        "rim m/s",
        "stress MPa",
        "of",
        "unbalance left g m",
        "at the rim g",
        "its pull N",
        "balance",
    )
    rows = (
        (
            cone.key,
            rpm(cone.rpm),
            f"{cone.rim_m_s:.1f}",
            f"{cone.stress_mpa:.2f}",
            cone.material,
            "" if cone.unbalance_g_m is None else f"{cone.unbalance_g_m:g}",
            "" if cone.at_rim_g is None else _figure(cone.at_rim_g),
            "" if cone.pull_n is None else _figure(cone.pull_n),
            cone.balance,
        )
        for cone in shafts.cones
    )
    return Table(heads, tuple(rows))


def run_up_table(shafts: ShaftsSheet, units: Units) -> Table:
    """Return how long the heaviest work takes to come up to every speed."""
    heads = ("speed", "rpm", f"torque counted on {'lbf ft' if units == 'in' else 'N m'}", "seconds")
    rows = (
        (str(run.number), rpm(run.rpm), torque_words(run.torque_nm, units), f"{run.seconds:.1f}")
        for run in shafts.run_ups
    )
    return Table(heads, tuple(rows))


def shafts_paper(shafts: ShaftsSheet, units: Units) -> Iterator[str]:
    """Yield the section of the design sheet."""
    yield "## Shafts, keys, balance"
    yield "\n".join(f"- **{line}**" for line in shafts.cautions)
    if shafts.loads:
        yield shaft_table(shafts, units).markdown()
    if shafts.keys:
        yield "Usual keys by shaft; the key's least length is that for the greatest torque its shaft can see."
        yield key_table(shafts, units).markdown()
    sources = "; ".join(dict.fromkeys(cone.source for cone in shafts.cones))
    yield (
        "Each cone at the greatest speed of its shaft. Stress is that of the largest step by its own mass, as of a "
        "flat disc of one material; no published limit for wooden pulleys was found. "
        f"Balance: {sources}."
    )
    yield balance_table(shafts).markdown()
    if shafts.run_ups:
        yield "Bringing the heaviest work up to speed, with the least of motor and belts:"
        yield run_up_table(shafts, units).markdown()


def _figure(value: float) -> str:
    """Return three digits: loads are known no finer."""
    return f"{float(f'{value:.3g}'):.10g}"
