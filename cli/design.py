"""The command that designs a machine."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from cli.codes import CHECK_FAILED, DONE, NO_DESIGN
from cli.folder import refuse_target, write_folder
from cli.progress import Progress
from cli.say import say
from cli.scenario_file import read_scenario
from optimizer.pipeline.design import NoLayoutError, design
from optimizer.pipeline.options import DesignOptions
from optimizer.report import design_files, design_json, design_screen, no_design_json, none_lines

__all__ = ["DesignCall", "design_file"]

NAMES = frozenset({"cuts.csv", "design.json", "design.md"})
"""Files of a result's folder."""


@dataclass(frozen=True)
class DesignCall:
    """What the command was called with."""

    file: Path
    layout: str | None
    order: str | None
    prefer: Literal["evenness", "timber", "disc"]
    as_json: bool
    quiet: bool
    force: bool
    out: Path | None
    changes: bool = False

    @property
    def target(self) -> Path | None:
        """The folder to write; nothing where only the document is printed."""
        if self.out is not None:
            return self.out
        return None if self.as_json else Path(f"{self.file.stem}-design")


def design_file(call: DesignCall) -> int:
    """Design the machine of a scenario file, write the folder, print the result."""
    scenario = read_scenario(call.file)
    if call.target is not None:
        refuse_target(call.target, NAMES, force=call.force)
    options = DesignOptions(layout=call.layout, order=call.order, prefer=call.prefer, changes=call.changes)
    try:
        with Progress(quiet=call.quiet) as progress:
            result = design(scenario, options, watch=progress)
    except NoLayoutError as error:
        if call.as_json:
            print(no_design_json(error.told), end="")
        first, *rest = none_lines(error.told)
        say(f"no design: {first}", *rest)
        return NO_DESIGN
    written: tuple[Path, ...] = ()
    if call.target is not None:
        written = write_folder(call.target, design_files(result), force=call.force)
    print(design_json(result) if call.as_json else design_screen(result), end="")
    if not call.quiet:
        say(*result.remarks, *(f"written: {_shown(path)}" for path in written))
    return CHECK_FAILED if result.failed else DONE


def _shown(path: Path) -> str:
    """Return a path as a person in this folder would type it."""
    here = Path.cwd()
    return str(path.relative_to(here) if path.is_relative_to(here) else path)
