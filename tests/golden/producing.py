"""What every command prints and writes for a machine, call by call."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path

from tests.processes import Ended, forked

__all__ = ["ANSWERS", "SCENARIOS", "produced"]

ROOT = Path(__file__).parents[2]
SCENARIOS = tuple(sorted((ROOT / "scenarios").glob("*.toml")))
ANSWERS = tuple(sorted(Path(__file__).parent.glob("*.answers")))

DRAWN_AS_SVG = """
import optimizer.documents.papers as files
from optimizer.render import svg_bytes

def page_text(page):
    figures = (page.width_mm, page.height_mm, *page.at, page.window.left, page.window.low)
    place = " ".join(f"{figure:.3f}" for figure in figures)
    return place.encode() + svg_bytes(page.sheet) + svg_bytes(page.furniture)

files.pdf_bytes = lambda pages: b"".join(map(page_text, pages))
files.dxf_bytes = svg_bytes
"""
"""Has PDF and DXF written as the neutral sheets they are made of, so that their libraries may change."""

CALLS = {
    "check": ("check", "{file}"),
    "speeds": ("speeds", "{file}"),
    "design": ("design", "{file}", "--time", "3600", "--out", "{out}"),
    "papers": ("papers", "design/design.json", "--out", "{out}"),
    "recheck": ("recheck", "design", "measured.toml", "--out", "{out}"),
    "compare": ("compare", "{file}", "--time", "3600", "--orders", "--extremes", "--out", "{out}"),
    "prefer-timber": ("design", "{file}", "--time", "3600", "--prefer", "timber", "--out", "{out}"),
    "prefer-disc": ("design", "{file}", "--time", "3600", "--prefer", "disc", "--out", "{out}"),
    "prefer-grip": ("design", "{file}", "--time", "3600", "--prefer", "grip", "--out", "{out}"),
    "changes": ("design", "{file}", "--time", "3600", "--changes", "--out", "{out}"),
}
"""What is called, in this order, by the name of its folder."""
OF_A_DESIGN = ("papers", "recheck")
"""Calls that need the folder of `design`."""
OFF, FAR_OFF = (0.0, 0.1, -0.1, 0.3, 0.0, -0.2), 12.0
"""How far readings of sizes are off what was drawn, in turn and of the last step, in mm; in twentieths of an inch."""


def produced(machine: Path, folder: Path, calls: tuple[str, ...] = (), *, raw: bool = False) -> Iterator[str]:
    """Write what the calls print and write into an empty folder, and yield the name of each that is done.

    Screens are `out` and `err` beside the exit code in `code`; what is written stands in `files`. With `raw`, PDF and
    DXF are written by their libraries.
    """
    before = "" if raw else DRAWN_AS_SVG
    if machine.suffix == ".answers":
        shutil.copy(machine, folder)
        _kept(forked(folder, "new", "--answers", machine.name, "--out", "new.toml"), folder, "new")
        yield "new"
        return
    (folder / "scenarios").mkdir()
    shutil.copy(machine, folder / "scenarios")
    for name, words in CALLS.items():
        if (calls and name not in calls) or (name in OF_A_DESIGN and not (folder / "design").is_dir()):
            continue
        if name == "recheck":
            (folder / "measured.toml").write_text(
                _filled((folder / "design/measured.toml").read_text("utf-8")), "utf-8"
            )
        arguments = [word.format(file=f"scenarios/{machine.name}", out=name) for word in words]
        _kept(forked(folder, *arguments, before=before), folder, name)
        yield name


def _kept(ended: Ended, folder: Path, name: str) -> None:
    """Write what a call printed beside what it wrote."""
    screens = folder / "screens" / name
    screens.mkdir(parents=True)
    for stream, text in (("code", f"{ended.code}\n"), ("out", ended.out), ("err", ended.err)):
        (screens / stream).write_text(text, encoding="utf-8", errors="surrogateescape")


def _filled(form: str) -> str:
    """Return a form with readings in it: near what was drawn, one step far too large, a motor that slips a little."""
    inches = 'units = "in"' in form
    off = cycle(OFF)
    sizes = len(re.findall(r'(?:over_pins|diameter|outside) = ""', form))
    lines = []
    for line in form.splitlines():
        match = re.search(r'(over_pins|diameter|outside|centre|speed) = ""(.*?#\D*?)([\d.]+)', line)
        if match and match[1] == "speed":
            line = line.replace('speed = ""', f"speed = {0.995 * float(match[3]):.1f}")
        elif match and match[1] != "centre":
            sizes -= 1
            error = next(off) if sizes else FAR_OFF
            reading = float(match[3]) + (error / 20 if inches else error)
            line = line.replace(f'{match[1]} = ""', f"{match[1]} = {reading:.{3 if inches else 2}f}")
        lines.append(line.replace('date = ""', "date = 2026-11-26"))
    return "\n".join(lines) + "\n"
