"""Outputs as they are compared: without what may change from run to run, figures to the digits that mean something."""

from __future__ import annotations

import json
import re
from math import floor, log10
from pathlib import Path
from typing import Any

__all__ = ["normal_text"]

MASKED_KEYS = frozenset(
    ("examined", "ruled_out", "held_bytes", "iterations", "evaluations", "version", "versions", "sha256", "digest")
)
"""Keys of JSON whose values count work or name versions."""
DIGITS, RESIDUE = 7, 1e-9
"""How many digits of a figure are compared; what is smaller than the residue counts as nothing."""
MASKS = (
    (re.compile(r"\d[\d,]* (were )?looked at"), "N looked at"),
    (re.compile(r"\d[\d.,]* MB were held"), "N MB were held"),
    (re.compile(r"(conewright|numpy|scipy|pydantic|Python|python) \d+\.\d+[\w.]*"), r"\1 VERSION"),
    (re.compile(r'id="[^"]*-[0-9a-f]{8,}"'), 'id="ID"'),
)


def normal_text(path: Path) -> str:
    """Return a text as it is compared; JSON has a line for every value."""
    text = path.read_bytes().decode("utf-8", "surrogateescape")
    if path.suffix == ".json" or (path.name == "out" and text.startswith("{")):
        text = json.dumps(_masked(json.loads(text)), indent=1, ensure_ascii=False) + "\n"
    for pattern, instead in MASKS:
        text = pattern.sub(instead, text)
    return text


def _masked(value: Any, key: str = "") -> Any:
    if key in MASKED_KEYS:
        return "MASKED"
    if isinstance(value, dict):
        return {name: _masked(inner, name) for name, inner in value.items()}
    if isinstance(value, list):
        return [_masked(inner) for inner in value]
    return _figure(value) if isinstance(value, float) else value


def _figure(value: float) -> float:
    if abs(value) < RESIDUE:
        return 0.0
    return round(value, DIGITS - 1 - floor(log10(abs(value))))
