"""Verify a design by its own document alone: ``python -m tests.independent.verify design.json``.

Everything that can hurt whoever turns it is worked out anew from the outside diameters and from the scenario's text
that the document carries, in fifty digits; nothing of the project is imported.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from fractions import Fraction
from hashlib import sha256
from itertools import pairwise, product
from pathlib import Path
from typing import Any

from tests.independent.numbers import num
from tests.independent.series_part import verify_series, verify_shafts
from tests.independent.stage_part import verify_stages
from tests.independent.stated import Machine, read_machine
from tests.independent.verdict import Verdict

__all__ = ["main", "verify", "verify_known"]

SIDES = ("driver", "driven")


def verify(text: str) -> Verdict:
    """Return what is wrong with a design, and how far its figures are from the true ones."""
    document, machine, verdict = _read(text)
    ratios = verify_stages(machine, document, verdict)
    verify_series(machine, document, ratios, verdict)
    steps = [p[side] for stage in document["machine"]["stages"] for p in stage["positions"] for side in SIDES]
    discs = [step["blank_mm"] for step in steps if step["source"] == "turned"]
    verdict.agrees("largest disc", document["layout"]["largest_disc_mm"], max(discs, default=0), 1e-6)
    verdict.broken += [f"its own check fails: {name}" for name in _failed(document)]
    return verdict


def verify_known(text: str) -> Verdict:
    """Return what is wrong with the figures of a fully known machine, and whether its checks fail just where it does.

    Such a machine may break rules; then some check of its document must fail, and none otherwise.
    """
    document, machine, verdict = _read(text)
    ratios = verify_stages(machine, document, verdict)
    made = []
    for chosen in product(*(range(len(row)) for row in ratios)):
        speed = num(machine.motor_rpm) * num(machine.gain_out)
        for stage, row, p in zip(machine.stages, ratios, chosen, strict=True):
            speed *= num(stage.gain) * row[p]
        made.append((speed, chosen))
    made.sort()
    told = document["machine"]["speeds"]
    verdict.agrees("number of speeds", len(told), len(made), 0)
    for sheet, (speed, chosen) in zip(told, made, strict=False):
        verdict.agrees("spindle speed as a share", sheet["rpm"] / speed, 1, 1e-9)
        said = [int(p) - 1 for p in sheet["positions"]]
        if all(abs(speed / other - 1) > 1e-9 for other, them in made if them != chosen):
            verdict.agrees("positions of a speed", int(said != [*chosen]), 0, 0)
        verify_shafts(machine, (sheet, said), ratios, verdict)
    distinct = 1 + num(machine.series["distinct"] or 0)
    for (slow, _), (fast, _) in pairwise(made):
        verdict.holds(
            fast / slow >= distinct * (1 - num("1e-9")), f"{float(slow):.6g}, {float(fast):.6g} rpm not distinct"
        )
    failed = _failed(document)
    if bool(failed) != bool(verdict.broken):
        verdict.false.append(f"checks that fail: {failed or 'none'}; rules that are broken: {verdict.broken or 'none'}")
    return verdict


def _read(text: str) -> tuple[Mapping[str, Any], Machine, Verdict]:
    """Return a document, the machine of the scenario in it, and a verdict that holds them to each other."""
    document: Mapping[str, Any] = json.loads(text, parse_float=Fraction, parse_int=Fraction)
    verdict = Verdict()
    said = document["scenario"]
    verdict.holds(sha256(said["text"].encode()).hexdigest() == said["sha256"], "the scenario is not the one designed")
    machine = read_machine(said["text"])
    stages = document["machine"]["stages"]
    verdict.holds([s.key for s in machine.stages] == [s["key"] for s in stages], "the stages are not those stated")
    return document, machine, verdict


def _failed(document: Mapping[str, Any]) -> list[str]:
    """Return the checks of what is impossible, and of limits, that the document says fail."""
    checks = (check for check in document["checks"] if not check["passed"] and check["kind"] != "advice")
    return [f"{check['name']} at {check['where']}" for check in checks]


def main(paths: list[str]) -> int:
    """Verify some files, print what is wrong, return how many are."""
    wrong = 0
    for path in paths:
        text = Path(path).read_text(encoding="utf-8")
        verdict = verify(text) if '"proof"' in text else verify_known(text)
        said = verdict.violations if '"proof"' in text else verdict.false
        wrong += bool(said)
        print(f"{path}: {'; '.join(said) or 'holds'}")
        print(", ".join(f"{kind} {off:.1e}" for kind, off in sorted(verdict.deviations.items())))
    return wrong


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
