"""Forms of `recheck` filled in as nobody would: TOML and tables, of machines of every kind."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator
from functools import cache
from io import StringIO
from pathlib import Path
from random import Random
from typing import Any

from cli.recheck import measured_in
from optimizer.documents.recheck import recheck_files, recheck_screen
from optimizer.documents.recheck_form import measured_csv, measured_toml
from optimizer.pipeline.job import Job
from optimizer.recheck.sizes import bench
from optimizer.recheck.verdict import recheck
from tests.fuzz.edges import NAMES, QUANTITIES, an_edge, near, scaled
from tests.fuzz.judging import ask_part
from tests.fuzz.making import spoilt
from tests.fuzz.mutations import PLAIN_CHANGES, some_of
from tests.fuzz.running import Call, Outcome, put
from tests.fuzz.written import toml_text
from tests.jobs import DIFFERENT, job

__all__ = ["readings_case", "run_readings"]

DAY = "2026-11-26"
CELLS = (*QUANTITIES, *NAMES[:60], "1x2", "loaded", "driver", "middle", "26.11.2026", "1,420", "1;2", '"', "nan")


@cache
def _tree(name: str) -> dict[str, Any]:
    """Return the form as TOML, every step measured as designed, every speed read."""
    made = job(name)
    tree = tomllib.loads(measured_toml(made.design))
    (check,) = tree["check"]
    check["date"] = DAY
    inch = 25.4 if made.scenario.units == "in" else 10.0 if made.scenario.units == "cm" else 1.0
    for step in check["step"]:
        stage = made.design.machine.stages[step["stage"] - 1]
        own = getattr(stage.positions[step["position"] - 1], step["side"])
        told = bench(stage.section, own, own.pitch_mm)
        if "belt_top" in step:
            step["outside"], step["belt_top"] = own.outside_mm / inch, told.mm / inch
        else:
            step["over_pins" if "over_pins" in step else "diameter"] = told.mm / inch
    for speed, read in zip(made.design.machine.speeds, check["speed"], strict=True):
        read["speed"], read["motor"] = speed.rpm, made.design.machine.motor_rpm
    return tree


@cache
def _rows(name: str) -> list[list[str]]:
    return list(csv.reader(StringIO(measured_csv(job(name).design))))


def readings_case(seed: int, number: int) -> tuple[str, str, bytes]:
    """Return the machine of a case, the name of its file and what is in it."""
    random = Random(f"{seed}/{number}/readings")
    name = random.choice(DIFFERENT)
    table = random.random() < 0.4
    text = _table(name, random) if table else _form(name, random)
    data = text.encode("utf-8", "surrogatepass")
    return name, "case.csv" if table else "case.toml", spoilt(data, random) if random.random() < 0.1 else data


def _form(name: str, random: Random) -> str:
    tree = _copy(_tree(name))
    check = tree["check"][0]
    for part in ("step", "centre", "speed"):
        kept = random.choice((0.0, 0.5, 1.0, 1.0))
        check[part] = [one for one in check[part] if random.random() < kept and "" not in one.values()]
    for one in check["step"]:
        for key in ("over_pins", "diameter", "belt_top"):
            if key in one and random.random() < 0.3:
                one[key] += random.choice((0.1, -0.1, 1.0, -1.0, -10.0, 3.0))
    if random.random() < 0.2:
        tree["check"].append({**_copy(check), "date": random.choice((DAY, "2027-01-01", "2020-02-29", "1"))})
    for change in some_of(PLAIN_CHANGES, random, random.choice((0, 1, 1, 2, 3, 5))):
        change(tree, random)
    return toml_text(tree)


def _copy(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _copy(value) for key, value in node.items()}
    return [_copy(value) for value in node] if isinstance(node, list) else node


def _table(name: str, random: Random) -> str:
    """Return the table with some cells filled in, then some changed, parted by one sign or another."""
    rows = [list(row) for row in _rows(name)]
    heads = rows[0]
    for row in rows[1:]:
        cells = dict(zip(heads, row, strict=True))
        column = {"step": random.choice(("over_pins", "diameter", "outside")), "centre": "centre", "speed": "speed"}
        filled = column.get(cells.get("what", ""), "")
        if filled in heads and random.random() < 0.7:
            row[heads.index(filled)] = next((word for word in cells["expected"].split() if word[:1].isdigit()), "100")
        if "date" in heads and random.random() < 0.5:
            row[heads.index("date")] = DAY
    for _ in range(random.choice((0, 1, 1, 2, 4, 9))):
        row = random.choice(rows)
        if row:
            at = random.randrange(len(row))
            cell = (random.choice(CELLS), str(an_edge(random)), str(scaled(1.0, random)), str(near(row[at], random)))
            row[at] = random.choice(cell)
        if random.random() < 0.2:
            rows.append(list(random.choice(rows))[: random.randrange(20)])
    lines = StringIO()
    csv.writer(lines, delimiter=random.choice(",,;\t")).writerows(rows)
    return lines.getvalue()


def run_readings(seed: int, number: int, folder: Path, share: float) -> Outcome:
    """Read the measurements of a case against its machine; check a share of those that can be read."""
    name, file, data = readings_case(seed, number)
    calls = _calls(job(name), file, checked=Random(f"{seed}/{number}/calls").random() < share)
    return put((file, data), number, folder, calls)


def _calls(made: Job, file: str, *, checked: bool) -> Iterator[Call]:
    def read() -> int:
        measured_in(Path(file), made)
        return 0

    def check() -> int:
        told = recheck(made, measured_in(Path(file), made))
        division_mm = made.scenario.making.division_mm
        recheck_files(told, made.design.machine, division_mm)
        print(recheck_screen(told, made.design.machine, division_mm), end="")
        return 4 if told.in_doubt else 0

    yield Call(lambda folder: ask_part("read", folder, read))
    if checked:
        yield Call(lambda folder: ask_part("recheck", folder, check))
