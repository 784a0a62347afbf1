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
from pathlib import Path
from typing import Any

from tests.independent.series_part import verify_series
from tests.independent.stage_part import verify_stages
from tests.independent.stated import read_machine
from tests.independent.verdict import Verdict

__all__ = ["main", "verify"]


def verify(text: str) -> Verdict:
    """Return what is wrong with a design, and how far its figures are from the true ones."""
    document: Mapping[str, Any] = json.loads(text, parse_float=Fraction, parse_int=Fraction)
    verdict = Verdict()
    said = document["scenario"]
    verdict.holds(sha256(said["text"].encode()).hexdigest() == said["sha256"], "the scenario is not the one designed")
    machine = read_machine(said["text"])
    stages = document["machine"]["stages"]
    verdict.holds([s.key for s in machine.stages] == [s["key"] for s in stages], "the stages are not those stated")
    ratios = verify_stages(machine, document, verdict)
    verify_series(machine, document, ratios, verdict)
    for check in document["checks"]:
        if not check["passed"] and check["kind"] != "advice":
            verdict.violations.append(f"its own check fails: {check['name']} at {check['where']}")
    return verdict


def main(paths: list[str]) -> int:
    """Verify some files, print what is wrong, return how many are."""
    wrong = 0
    for path in paths:
        verdict = verify(Path(path).read_text(encoding="utf-8"))
        wrong += bool(verdict.violations)
        print(f"{path}: {'; '.join(verdict.violations) or 'holds'}")
        print(", ".join(f"{kind} {off:.1e}" for kind, off in sorted(verdict.deviations.items())))
    return wrong


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
