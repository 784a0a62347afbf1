"""How long a machine takes to come up to speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["run_up_s"]


def run_up_s(inertia_kg_m2: ArrayLike, rpm: ArrayLike, torque_nm: ArrayLike) -> NDArray[np.float64]:
    """Return the time to bring a mass up to speed at a steady torque [s], ``J·ω/T``; infinity without torque.

    Source: Newton's second law for turning.

    Examples
    --------
    0.5 kg·m² up to 700 rpm with 10 N·m:

    >>> round(float(run_up_s(0.5, 700, 10)), 2)
    3.67
    """
    with np.errstate(divide="ignore"):
        return np.asarray(np.multiply(inertia_kg_m2, np.multiply(rpm, np.pi / 30)) / np.asarray(torque_nm, float))
