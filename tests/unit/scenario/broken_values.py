"""Single values that cannot be read."""

from __future__ import annotations

from tests.unit.scenario.bases import ONE, Broken, broken

__all__ = ["VALUES"]

VALUES: tuple[Broken, ...] = (
    broken(
        "decimal comma",
        ONE,
        [("travel = 60", 'travel = "114,5 mm"')],
        'stage[0].travel: a comma is not read in numbers; got "114,5 mm"; allowed: a decimal point; try: write '
        '"114.5 mm"',
    ),
    broken(
        "thousands comma",
        ONE,
        [('"1420 rpm"', '"1,420 rpm"')],
        'motor.speed: a comma is not read in numbers; got "1,420 rpm"; allowed: a decimal point; try: write '
        '"1.420 rpm", or "1420 rpm" if the comma parts thousands',
    ),
    broken(
        "speeds within two hundred per cent",
        ONE,
        [("[[shaft]]", "[making]\nspeed_within = 2\n\n[[shaft]]")],
        'making.speed_within: this is too large; got 2; allowed: above 0 % up to 50 %; try: write "2 %" if per cent '
        "are meant",
    ),
    broken(
        "turned without any error",
        ONE,
        [("[[shaft]]", "[making]\npins_within = 0\nrim_within = 0\ngroove_within = 6\n\n[[shaft]]")],
        "making.pins_within: this must be above 0; got 0; allowed: above 0 mm up to 10 mm; try: check the unit: a bare "
        "number is in mm here",
        "making.rim_within: this must be above 0; got 0; allowed: above 0 mm up to 10 mm; try: check the unit: a bare "
        "number is in mm here",
        "making.groove_within: this is too large; got 6; allowed: above 0 mm up to 5 mm; try: check the unit: a bare "
        "number is in mm here",
    ),
    broken(
        "unknown unit",
        ONE,
        [('"1420 rpm"', '"1420 rmp"')],
        'motor.speed: "rmp" is not known as a unit of shaft speed; got "1420 rmp"; allowed: rpm, rev/s; try: '
        "did you mean rpm?",
    ),
    broken(
        "unit of another kind",
        ONE,
        [("travel = 60", 'travel = "60 kg"')],
        'stage[0].travel: "kg" does not measure length; got "60 kg"; allowed: mm, cm, m, in, ft, thou',
    ),
    broken(
        "hertz for a shaft speed",
        ONE,
        [('"1420 rpm"', '"24 Hz"')],
        'motor.speed: "Hz" does not measure shaft speed; got "24 Hz"; allowed: rpm, rev/s',
    ),
    broken(
        "true for a number",
        ONE,
        [("travel = 60", "travel = true")],
        'stage[0].travel: a length is a number; got true; allowed: 114.5, "114.5 mm" or "4 1/2 in"',
    ),
    broken(
        "date for a number",
        ONE,
        [("travel = 60", "travel = 2024-01-01")],
        'stage[0].travel: a length is a number; got 2024-01-01; allowed: 114.5, "114.5 mm" or "4 1/2 in"',
    ),
    broken(
        "not a number",
        ONE,
        [("travel = 60", "travel = nan")],
        'stage[0].travel: a length must be finite; got nan; allowed: 114.5, "114.5 mm" or "4 1/2 in"',
    ),
    broken(
        "infinite",
        ONE,
        [("centres = [250, 350]", "centres = [250, inf]")],
        'stage[0].centres[1]: a length must be finite; got inf; allowed: 114.5, "114.5 mm" or "4 1/2 in"',
    ),
    broken(
        "zero speed",
        ONE,
        [('"1420 rpm"', "0")],
        "motor.speed: this must be above 0; got 0; allowed: above 0 rpm up to 60000 rpm",
    ),
    broken(
        "negative travel",
        ONE,
        [("travel = 60", "travel = -60")],
        "stage[0].travel: a length cannot be negative; got -60; allowed: 0 or more",
    ),
    broken(
        "huge pulley",
        ONE,
        [("free = [75, 200]", "free = [75, 20000]")],
        "stage[0].driver.free[1]: this is too large; got 20000; allowed: 5 mm to 5000 mm; try: check the unit: "
        "a bare number is in mm here",
    ),
    broken(
        "tiny pulley",
        ONE,
        [("free = [75, 200]", 'free = ["0.5 mm", 200]')],
        'stage[0].driver.free[0]: this is too small; got "0.5 mm"; allowed: 5 mm to 5000 mm',
    ),
    broken(
        "millimetres in an inch file",
        ONE,
        [
            ('units = "mm"', 'units = "in"'),
            ('"spindle"', '"spindle"'),
        ],
        "stage[0].centres[0]: this is too large; got 250; allowed: 0.3937 in to 196.8504 in; try: check the "
        "unit: a bare number is in inches here",
        "stage[0].centres[1]: this is too large; got 350; allowed: 0.3937 in to 196.8504 in; try: check the "
        "unit: a bare number is in inches here",
        "stage[0].driver.free[1]: this is too large; got 200; allowed: 0.1969 in to 196.8504 in; try: check "
        "the unit: a bare number is in inches here",
        "stage[0].driven.free[1]: this is too large; got 200; allowed: 0.1969 in to 196.8504 in; try: check "
        "the unit: a bare number is in inches here",
    ),
    broken(
        "share written as a percentage",
        ONE,
        [("[[band]]", "[series]\nends = 3\n\n[[band]]")],
        'series.ends: this is too large; got 3; allowed: 0 % to 50 %; try: write "3 %" if per cent are meant',
    ),
    broken(
        "want of half a speed",
        ONE,
        [("want = 3", "want = 2.5")],
        "band[0].want: this must be a whole number; got 2.5; allowed: 1 to 24",
    ),
    broken(
        "want of nothing",
        ONE,
        [("want = 3", "want = 0")],
        "band[0].want: this is too small; got 0; allowed: 1 to 24",
    ),
    broken(
        "fraction by nought",
        ONE,
        [("travel = 60", 'travel = "4 1/0 in"')],
        'stage[0].travel: nothing can be divided by 0; got "4 1/0 in"; allowed: 114.5, "114.5 mm" or "4 1/2 in"',
    ),
    broken(
        "limit without value",
        ONE,
        [("travel = 60", 'travel = 60\nwrap = { reason = "short machine" }')],
        'stage[0].wrap: this table is not that of a changed limit; got { reason = "short machine" }; allowed: '
        "{ value, reason }",
    ),
    broken(
        "plain value as a limit",
        ONE,
        [("travel = 60", 'travel = { value = 60, reason = "long slide" }')],
        'stage[0].travel: this takes a plain value, not a table; got { value = 60, reason = "long slide" }; '
        'allowed: 114.5, "114.5 mm" or "4 1/2 in"',
    ),
    broken(
        "limit with a strange key",
        ONE,
        [("travel = 60", 'travel = 60\nwrap = { value = 80, because = "short machine" }')],
        'stage[0].wrap: this table is not that of a changed limit; got { value = 80, because = "short machine" '
        "}; allowed: { value, reason }",
    ),
    broken(
        "reason that is no text",
        ONE,
        [("travel = 60", "travel = 60\nwrap = { value = 80, reason = 3 }")],
        "stage[0].wrap: the reason of a changed limit must be text; got 3; allowed: text in quotes",
    ),
    broken(
        "wrap above half a turn",
        ONE,
        [("travel = 60", 'travel = 60\nwrap = { value = 200, reason = "try" }')],
        "stage[0].wrap: this is too large; got 200; allowed: 0 degrees to 180 degrees",
    ),
)
