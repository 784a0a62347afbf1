"""What is broken on purpose, and which tests are to notice."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

__all__ = ["ROOMS", "ROOT", "Room"]

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Room:
    """A part of the package with the tests that are run against its mutants."""

    name: str
    sources: tuple[str, ...]
    """Patterns of files from the root."""
    tests: tuple[str, ...]
    """Files and folders from the root; doctests of the sources among them."""
    others: tuple[str, ...] = ()
    """Names of files among the sources that are another part."""
    most_seconds: float = 10.0
    """Processor time [s] of the tests that one mutant is given, as measured while tracing; quickest first."""

    longest_seconds: float = 2.0
    """Processor time [s] beyond which a test is not called at all."""

    def files(self) -> list[Path]:
        """Return the files that are broken, in order of their names."""
        left_out = {"__init__.py", *self.others}
        return sorted(path for pattern in self.sources for path in ROOT.glob(pattern) if path.name not in left_out)


IN_HAND = ("skimming.py", "stock.py")
"""Modules of the search whose tests look at every combination of drawers, which takes minutes."""

ROOMS = {
    room.name: room
    for room in (
        Room(
            "geometry",
            ("optimizer/geometry/*.py",),
            (
                "optimizer/geometry",
                "tests/unit/geometry",
                "tests/property/test_geometry.py",
                "tests/property/test_plane.py",
                "tests/validation/test_exact_open_cone.py",
                "tests/validation/test_khurmi_gupta.py",
                "tests/validation/test_over_pins.py",
                "tests/validation/test_rao_2009.py",
                "tests/validation/test_rose_1888.py",
                "tests/validation/test_shigley.py",
                "tests/validation/test_tayal.py",
                "tests/validation/test_virtual_work.py",
                "tests/validation/test_wentzell_2007.py",
            ),
            longest_seconds=5.0,
        ),
        Room(
            "series",
            ("optimizer/series.py",),
            (
                "optimizer/series.py",
                "tests/unit/test_series.py",
                "tests/unit/test_series_edges.py",
                "tests/unit/search/test_least_spread.py",
                "tests/unit/search/test_parts.py",
                "tests/validation/test_exact_open_cone.py",
                "tests/validation/test_iso_3.py",
                "tests/validation/test_sharma_2008.py",
            ),
        ),
        Room(
            "scoring",
            ("optimizer/scoring.py",),
            ("optimizer/scoring.py", "tests/unit/test_scoring.py", "tests/search/test_known_instances.py"),
            most_seconds=3.0,
        ),
        Room(
            "checks",
            ("optimizer/checks/*.py",),
            (
                "optimizer/checks",
                "tests/unit/checks",
                "tests/docs/test_pages.py",
                "tests/validation/test_en_315.py",
                "tests/validation/test_mpta_b13i.py",
                "tests/validation/test_virtual_work.py",
                "tests/validation/test_transmission_shafting.py",
            ),
        ),
        Room(
            "search",
            ("optimizer/search/*.py",),
            (
                "optimizer/search",
                "tests/unit/search",
                "tests/search/test_against_brute_force.py",
                "tests/search/test_extremes_of_turned_cones.py",
                "tests/search/test_grip_rays.py",
                "tests/search/test_known_instances.py",
                "tests/search/test_rays.py",
                "tests/search/test_structural_bound.py",
                "tests/property/test_trimming.py",
            ),
            others=IN_HAND,
            most_seconds=6.0,
        ),
        Room(
            "in hand",
            tuple(f"optimizer/search/{name}" for name in IN_HAND),
            (
                "optimizer/search/skimming.py",
                "optimizer/search/stock.py",
                "tests/unit/search/test_skimming.py",
                "tests/unit/search/test_stock.py",
                "tests/search/test_in_hand.py",
            ),
            most_seconds=6.0,
            longest_seconds=0.7,
        ),
    )
}
