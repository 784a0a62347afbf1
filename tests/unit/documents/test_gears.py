"""What is said of fixed stages."""

from __future__ import annotations

from optimizer.documents.gears import GEAR_CAUTION, gear_cautions, gear_table, gear_words
from optimizer.records.mechanics import GearSheet, GearTorque

WORM = GearSheet(
    key="stage[1]",
    driver_shaft="worm shaft",
    driven_shaft="spindle",
    ratios=(0.05,),
    reverses=False,
    efficiency=0.7,
    input_rpm=1780.25,
    input_limit_rpm=2800.0,
    torque_limit_nm=120.0,
    peak_limit_nm=240.0,
    torques=(
        GearTorque(number=1, driven_rpm=28.2, torque_nm=118.7, breakdown_nm=356.1),
        GearTorque(number=2, driven_rpm=89.0, torque_nm=41.3, breakdown_nm=123.9),
    ),
)
COUPLING = GearSheet(
    key="stage[0]",
    driver_shaft="motor",
    driven_shaft="countershaft",
    ratios=(1.0,),
    reverses=False,
    efficiency=1.0,
    input_rpm=1420.0,
    input_limit_rpm=None,
    torque_limit_nm=None,
    peak_limit_nm=None,
    torques=(),
)


def test_a_reducer_is_told_with_what_goes_in_and_comes_out() -> None:
    """Ratio as the trade writes it, losses, speed and torque against what is permitted."""
    assert gear_words(WORM, "mm") == (
        "worm shaft to spindle: fixed ratio 0.05 (20:1), passes on 70 % of the power; driven at up to 1780.2 rpm of "
        "2800.0 allowed; gives up to 119 N m at 28.2 rpm of 120 permitted, the maker's service factor not counted"
    )


def test_inches_go_with_pounds() -> None:
    """118.7 N·m are 87.5 lbf ft at 1.35582 N·m each: NIST SP 811, from memory."""
    assert "gives up to 87.5 lbf ft at 28.2 rpm of 88.5 permitted" in gear_words(WORM, "in")
    assert "lbf ft out, at most" in gear_table((WORM,), "in").heads


def test_a_coupling_is_called_one_and_needs_no_caution() -> None:
    """Shafts that turn as one have nothing that could break in a jam."""
    assert gear_words(COUPLING, "mm") == "motor to countershaft: direct coupling"
    assert gear_cautions((COUPLING,)) == ()
    assert gear_cautions((COUPLING, WORM)) == (GEAR_CAUTION,)


def test_gears_to_engage_are_all_named() -> None:
    """A back gear has two ratios, the reversing ones say so."""
    back = WORM.model_copy(update={"ratios": (0.16, 1.0), "reverses": True})
    assert gear_words(back, "mm").startswith("worm shaft to spindle: fixed ratios 0.16 (6.25:1) or 1, reversing, ")


def test_the_table_says_what_is_not_stated() -> None:
    """A coupling without limits or powers has empty figures in words."""
    (row,) = gear_table((COUPLING,), "mm").rows
    assert row == (
        "motor",
        "countershaft",
        "direct coupling",
        "100 %",
        "1420.0",
        "not stated",
        "not known",
        "not stated",
    )
