"""The command that sets layouts side by side."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from cli.codes import DONE
from cli.folder import as_typed, refuse_target, write_folder
from cli.limits import Limits
from cli.progress import Progress
from cli.results import say_none
from cli.scenario_file import read_scenario
from cli.streams import say
from optimizer.documents.comparison import CHART, comparison_chart, comparison_paper, comparison_screen
from optimizer.documents.data import record_json
from optimizer.drawing import speed_chart_sheet
from optimizer.pipeline.compare import CompareOptions, compare
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.records.comparison import Comparison
from optimizer.render import svg_bytes

__all__ = ["CompareCall", "compare_file"]

NAMES = frozenset({"comparison.json", "comparison.md", CHART})
"""Files of a comparison's folder."""


@dataclass(frozen=True)
class CompareCall:
    """What the command was called with."""

    file: Path
    orders: bool
    extremes: bool
    as_json: bool
    quiet: bool
    force: bool
    out: Path | None
    """The folder to write; nothing where only the tables or the document are printed."""
    limits: Limits = field(default_factory=Limits)


def compare_file(call: CompareCall) -> int:
    """Set the layouts of a scenario file side by side, print the result, write the folder that was asked for."""
    scenario = read_scenario(call.file)
    if call.out is not None:
        refuse_target(call.out, NAMES.__contains__, force=call.force)
    try:
        with Progress(quiet=call.quiet) as progress, call.limits.clock(progress) as clock:
            options = CompareOptions(orders=call.orders, extremes=call.extremes)
            result = compare(scenario, options, clock)
    except NoLayoutError as error:
        return say_none(error, as_json=call.as_json)
    written: tuple[Path, ...] = ()
    if call.out is not None:
        written = write_folder(call.out, _files(result), force=call.force)
    print(record_json(result) if call.as_json else comparison_screen(result), end="")
    if not call.quiet:
        say(*result.remarks, *(f"written: {as_typed(path)}" for path in written))
    return DONE


def _files(result: Comparison) -> dict[str, bytes]:
    return {
        "comparison.json": record_json(result).encode("utf-8"),
        "comparison.md": comparison_paper(result).encode("utf-8"),
        CHART: svg_bytes(speed_chart_sheet(comparison_chart(result))),
    }
