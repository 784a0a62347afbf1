"""U. C. Jindal, Machine Design, example 20-3, p. 567.

Data and printed answer as reworked in a public companion notebook to the numbered example.
"""

import pytest

from optimizer.geometry.belts import belt_length_mm


def test_the_open_belt_has_the_printed_length() -> None:
    """Pulleys of 200 and 600 mm at 2400 mm take a belt of 6.0733 m, 6.073313 m exactly."""
    length_m = belt_length_mm(200.0, 600.0, 2400.0) / 1000
    assert length_m == pytest.approx(6.0733, abs=5e-5)
    assert length_m == pytest.approx(6.073313, abs=5e-7)
