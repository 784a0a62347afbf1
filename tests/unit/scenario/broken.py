"""Hand-made files with something wrong in them, each with every line that must be told of it."""

from __future__ import annotations

from tests.unit.scenario.bases import Broken
from tests.unit.scenario.broken_free import FREE
from tests.unit.scenario.broken_gears import GEARS
from tests.unit.scenario.broken_hanging import HANGING
from tests.unit.scenario.broken_in_hand import IN_HAND
from tests.unit.scenario.broken_parts import PARTS
from tests.unit.scenario.broken_places import PLACES
from tests.unit.scenario.broken_shafts import PARTS_OF_SHAFTS
from tests.unit.scenario.broken_stages import STAGES
from tests.unit.scenario.broken_surfaces import SURFACES
from tests.unit.scenario.broken_switches import SWITCHES
from tests.unit.scenario.broken_syntax import SYNTAX
from tests.unit.scenario.broken_values import VALUES

__all__ = ["BROKEN", "Broken"]

BROKEN: tuple[Broken, ...] = (
    *SYNTAX,
    *VALUES,
    *PARTS,
    *PLACES,
    *SURFACES,
    *PARTS_OF_SHAFTS,
    *HANGING,
    *STAGES,
    *GEARS,
    *SWITCHES,
    *IN_HAND,
    *FREE,
)
"""All of them; the command line gives exit code 2 for every one."""
