"""What is kept of judging: counts of every module, and each mutant that no test noticed."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.mutation.judging import Verdict
from tests.mutation.mutants import mutants_of
from tests.mutation.rooms import ROOMS, ROOT, Room

__all__ = ["ENOUGH", "KEPT", "Results"]

KEPT = Path(__file__).with_name("results.json")
ENOUGH = 0.85
"""Share of a room's mutants that tests must notice."""

Row = dict[str, Any]


class Results:
    """The rows of all modules, by file."""

    def __init__(self, path: Path = KEPT) -> None:
        self._path = path
        self.rows: dict[str, Row] = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else {}

    @property
    def survivors(self) -> set[str]:
        """Names of the mutants that nothing noticed."""
        return {key for row in self.rows.values() for key in row["survivors"]}

    def keep(self, room: Room, verdicts: Sequence[Verdict], *, seed: int, renewed: bool) -> None:
        """Put new verdicts in the place of old ones; renewed ones are of survivors only, all others stay killed."""
        for path in sorted({verdict.mutant.path for verdict in verdicts}):
            own = [verdict for verdict in verdicts if verdict.mutant.path == path]
            row = self.rows.get(path, {}) if renewed else {}
            left = sorted((v for v in own if not v.killed), key=lambda v: v.mutant.number)
            self.rows[path] = {
                "room": room.name,
                "mutants": row.get("mutants") or len(mutants_of(ROOT / path, ROOT)),
                "tried": row.get("tried") or len(own),
                "seed": row.get("seed", seed),
                "at first": row.get("at first", len(own) - len(left)),
                "killed": (row["tried"] if row else len(own)) - len(left),
                "too slow": row.get("too slow", 0) + sum(v.how == "too slow" for v in own),
                "survivors": [v.mutant.key for v in left],
                "not run": [v.mutant.key for v in left if v.how == "not run"],
            }
        text = json.dumps(dict(sorted(self.rows.items())), indent=1, ensure_ascii=False)
        fresh = self._path.with_suffix(".new")
        fresh.write_text(text + "\n", encoding="utf-8")
        fresh.replace(self._path)

    def of_room(self, name: str) -> dict[str, Row]:
        """Return the rows of one room."""
        return {path: row for path, row in self.rows.items() if row["room"] == name}

    def enough(self, name: str) -> bool:
        """Tell whether enough of a room's mutants that were judged are noticed."""
        rows = self.of_room(name).values()
        killed, tried = (sum(int(row[key]) for row in rows) for key in ("killed", "tried"))
        return killed >= ENOUGH * tried

    def table(self) -> str:
        """Return the counts as a table of the terminal."""
        lines = [f"{'module':44} {'mutants':>8} {'tried':>6} {'killed':>7} {'share':>7}"]
        for name in ROOMS:
            rows = self.of_room(name)
            for path, row in rows.items():
                lines.append(_line(path, [row]))
            if rows:
                lines.append(_line(name, list(rows.values())))
        return "\n".join(lines)


def _line(name: str, rows: Sequence[Row]) -> str:
    mutants, tried, killed = (sum(row[key] for row in rows) for key in ("mutants", "tried", "killed"))
    return f"{name:44} {mutants:8} {tried:6} {killed:7} {killed / max(tried, 1):7.1%}"
