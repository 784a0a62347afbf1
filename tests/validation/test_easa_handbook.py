"""EASA Electrical Engineering Handbook, general speed-torque characteristics of three-phase motors, read.

The table is that of NEMA MG 10, table 2-1.
"""

from __future__ import annotations

import pytest

from optimizer.catalogue.parts import breakdown_torque
from optimizer.mechanics.motors import idle_speed_rpm

BREAKDOWN = {"B": (1.75, 3.00), "C": (1.90, 2.25), "D": (2.75, 2.75)}
"""Breakdown torque by design, least and greatest, as multiples of the full-load torque."""
SLIP = {"B": 0.05, "C": 0.05}
"""Greatest slip at full load by design."""


@pytest.mark.parametrize("name", BREAKDOWN)
def test_the_greatest_breakdown_torque_of_a_design_counts(name: str) -> None:
    """What a jam brings is judged by the strongest motor of its design."""
    assert breakdown_torque(name)[0] == BREAKDOWN[name][1]


def test_a_motor_of_unknown_design_is_taken_as_the_strongest_of_the_table() -> None:
    """No three-phase design has more than the small ones of design B."""
    assert breakdown_torque(None)[0] == max(most for _, most in BREAKDOWN.values())


@pytest.mark.parametrize("design", SLIP)
@pytest.mark.parametrize("field_rpm", [750, 900, 1000, 1200, 1500, 1800, 3000, 3600])
def test_every_slip_of_the_usual_designs_leads_back_to_a_field_no_slower(design: str, field_rpm: int) -> None:
    """A plate's speed is taken to belong to its own field, 120 · Hz / poles, or to a faster one that it fits too."""
    for slip in (0.005, SLIP[design] / 2, SLIP[design]):
        idle = idle_speed_rpm(field_rpm * (1 - slip))
        assert idle is not None and idle >= field_rpm


def test_plates_of_usual_motors_lead_to_their_fields() -> None:
    """Full-load speeds as plates of small motors give them, common practice, no source, with 120 · Hz / poles."""
    plates = {
        **{2850: 3000, 1420: 1500, 1425: 1500, 940: 1000, 690: 750},
        **{3450: 3600, 1725: 1800, 1140: 1200, 860: 1000},
    }
    assert {plate: idle_speed_rpm(plate) for plate in plates} == plates
