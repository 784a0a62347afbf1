"""The command that designs a machine."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from cli.codes import DONE
from cli.folder import as_typed, refuse_target, write_folder
from cli.limits import Limits
from cli.progress import Progress
from cli.results import refuse_filled_forms, results_in, say_none
from cli.scenario_file import read_scenario
from cli.streams import say
from optimizer.documents.data import design_json
from optimizer.documents.design import design_files, design_screen
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job
from optimizer.pipeline.no_design import NoLayoutError
from optimizer.pipeline.options import DesignOptions

__all__ = ["DesignCall", "design_file"]

MOST_NAMED = 8
"""More files than this are not named one by one."""


@dataclass(frozen=True)
class DesignCall:
    """What the command was called with."""

    file: Path
    layout: str | None
    order: str | None
    prefer: Literal["evenness", "timber", "disc", "grip"]
    as_json: bool
    quiet: bool
    force: bool
    out: Path | None
    changes: bool = False
    papers: bool = False
    limits: Limits = field(default_factory=Limits)

    @property
    def target(self) -> Path | None:
        """The folder to write; nothing where only the document is printed."""
        if self.out is not None:
            return self.out
        return None if self.as_json and not self.papers else Path(f"{self.file.stem}-design")


def design_file(call: DesignCall) -> int:
    """Design the machine of a scenario file, write the folder, print the result."""
    scenario = read_scenario(call.file)
    if call.target is not None:
        refuse_filled_forms(call.target)
        refuse_target(call.target, results_in(call.target), force=call.force)
    options = DesignOptions(layout=call.layout, order=call.order, prefer=call.prefer, changes=call.changes)
    try:
        with Progress(quiet=call.quiet) as progress, call.limits.clock(progress) as clock:
            result = design(scenario, options, clock)
    except NoLayoutError as error:
        return say_none(error, as_json=call.as_json)
    written: tuple[Path, ...] = ()
    if call.target is not None:
        files = design_files(result)
        if call.papers:
            # drawing libraries: half a second that a design alone need not wait for
            from optimizer.documents.papers import paper_files, paper_options

            job = Job(result, scenario)
            for papers in paper_files(job, paper_options(job)).values():
                files |= papers
        written = write_folder(call.target, files, results_in(call.target), force=call.force)
    print(design_json(result) if call.as_json else design_screen(result), end="")
    if not call.quiet:
        say(*result.remarks, *_written(written))
    return DONE


def _written(paths: tuple[Path, ...]) -> list[str]:
    """Return a line a file, or one for all where there are many."""
    if len(paths) <= MOST_NAMED:
        return [f"written: {as_typed(path)}" for path in paths]
    return [f"written: {as_typed(paths[0].parent)}, {len(paths)} files"]
