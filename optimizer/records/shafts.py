"""What is told of shafts, keys, balance, starting."""

from __future__ import annotations

from collections.abc import Callable

from optimizer.scenario.base import Model

__all__ = ["FlatSheet", "KeySheet", "RunUpSheet", "ShaftLoadSheet", "ShaftsSheet", "TurningSheet"]

WHOLE_G = 10.0
"""From here on grams are told whole."""


class ShaftLoadSheet(Model):
    """The hardest speed of one shaft."""

    shaft: str
    rpm: float
    """Speed of the spindle at which the shaft is loaded hardest."""
    moment_nm: float
    torque_nm: float
    needed_mm: float
    """Diameter that stands bending and torsion together."""
    diameter_mm: float | None
    """The diameter stated."""
    bearings_n: tuple[float, float]
    """Greatest loads of any speed, each bearing's own."""
    directions_known: bool
    """Whether the directions of the pulls follow from stated places; otherwise the worst of them counts."""
    source: str


class KeySheet(Model):
    """The usual key of a shaft with its seats."""

    shaft: str
    diameter_mm: float
    width_mm: float
    height_mm: float
    shaft_depth_mm: float | None
    """Depth of the seat in the shaft at its middle (t1)."""
    hub_depth_mm: float | None
    """The same in the hub (t2)."""
    over_shaft_mm: float
    """From the bottom of the shaft's seat to the far side of the shaft (S)."""
    over_hub_mm: float
    """From the bottom of the hub's seat to the far side of the bore (T)."""
    length_mm: float | None
    """Least length for the greatest torque of the shaft."""
    source: str


class FlatSheet(Model):
    """A motor shaft that has a flat in place of a keyway."""

    shaft: str
    frame: str
    over_flat_mm: float
    """From the flat to the far side of the shaft."""
    source: str

    def words(self, size: Callable[[float], str]) -> str:
        """Return what is said of it, with its size written by `size`."""
        return (
            f"The shaft of {self.frame} has a flat and no keyway, {size(self.over_flat_mm)} over the flat: two set "
            f"screws of the metal hub or pulley bear on it."
        )


class TurningSheet(Model):
    """One cone at the greatest speed of its shaft."""

    key: str
    shaft: str
    rpm: float
    rim_m_s: float
    """Speed of the largest rim at the greatest speed of its shaft."""
    radius_mm: float
    """Radius of the largest rim."""
    mass_kg: float | None
    """Mass of the cone, without a hub; nothing where steps exist already, as nobody states what they weigh."""
    stress_mpa: float
    """Greatest stress of the largest step by its own mass, as a flat disc with a bore."""
    ring_mpa: float
    """The same as a thin ring."""
    strength_mpa: float | None
    """Least strength in tension of what it may be made of; nothing where that is not stated."""
    strength_rpm: float | None
    """Speed at which the stress of the ring would reach that strength: a calculation, no licence."""
    strength_source: str
    material: str
    unbalance_g_m: float | None
    """Unbalance that may be left, the lesser of the pulley standard's and the grade's; nothing where none is known."""
    at_rim_g: float | None
    """The same as a mass at the largest rim; nothing where the mass is not known, as the grade may leave far less."""
    pull_n: float | None
    """What that unbalance pulls at this speed."""
    shown_g_m: float | None
    """Least unbalance that an arbor on level edges shows; nothing where the mass is not known."""
    two_planes: bool
    """Whether it is long and fast enough to be balanced in two planes."""
    balance: str
    """How it is balanced, in words."""
    source: str

    def left_words(self, size: Callable[[float], str]) -> str:
        """Return what unbalance may be left, in grams at the rim, with its radius written by `size`."""
        if self.at_rim_g is None:
            return ""
        grams = f"{self.at_rim_g:.0f}" if self.at_rim_g >= WHOLE_G else f"{self.at_rim_g:.2g}"
        return f"{grams} g at its rim, {size(self.radius_mm)} from the axis"


class RunUpSheet(Model):
    """How the machine comes up to one spindle speed with the heaviest work."""

    number: int
    rpm: float
    torque_nm: float
    """Steady torque of the spindle that is counted on."""
    seconds: float | None
    """Nothing where a belt carries nothing, so that the work does not come up to speed."""


class ShaftsSheet(Model):
    """Shafts, keys, balance, starting."""

    loads: tuple[ShaftLoadSheet, ...]
    keys: tuple[KeySheet, ...]
    flats: tuple[FlatSheet, ...] = ()
    cones: tuple[TurningSheet, ...]
    run_ups: tuple[RunUpSheet, ...]
    cautions: tuple[str, ...]
