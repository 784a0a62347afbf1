"""The command that writes the papers."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cli.codes import CHECK_FAILED, DONE
from cli.design_file import DESIGN, designed_job, is_design, read_job
from cli.folder import as_typed, refuse_target, write_folder
from cli.progress import Progress
from cli.results import refuse_filled_forms, results_in, say_none
from cli.scenario_file import read_scenario
from cli.streams import say
from optimizer.documents.kinds import WHY_NONE
from optimizer.documents.papers import paper_files, paper_options
from optimizer.errors import Fault, ScenarioError
from optimizer.pipeline.no_design import NoLayoutError

__all__ = ["PapersCall", "papers_of_file"]


@dataclass(frozen=True)
class PapersCall:
    """What the command was called with."""

    file: Path
    only: tuple[str, ...]
    paper: str | None
    speed: int | None
    as_changed: bool
    quiet: bool
    force: bool
    out: Path | None


def papers_of_file(call: PapersCall) -> int:
    """Write the papers of a design, or of the design of a scenario."""
    scenario = None if is_design(call.file) else read_scenario(call.file)
    stem = call.file.stem if scenario else _stem(call.file)
    target = call.out or Path(f"{stem}-papers")
    refuse_filled_forms(target)
    refuse_target(target, results_in(target), force=call.force)
    if scenario is None:
        job, remarks = read_job(call.file, as_changed=call.as_changed)
    else:
        try:
            with Progress(quiet=call.quiet) as progress:
                job, remarks = designed_job(scenario, call.file, progress, as_changed=call.as_changed)
        except NoLayoutError as error:
            return say_none(error, as_json=False)
    papers = paper_files(job, paper_options(job, call.only, call.paper, call.speed))
    none = [Fault(f"--only {kind.value}", f"there are none: {WHY_NONE[kind]}") for kind in papers if not papers[kind]]
    if len(none) == len(papers):
        raise ScenarioError(none)
    files = {name: content for some in papers.values() for name, content in some.items()}
    written = write_folder(target, files, results_in(target), force=call.force)
    print("\n".join(as_typed(path) for path in written))
    if not call.quiet:
        say(*remarks, *map(str, none), *job.cautions[:3])
    return CHECK_FAILED if job.design.failed else DONE


def _stem(design: Path) -> str:
    """Return what the papers of a design's file are named after."""
    folder = design.absolute().parent.name
    return folder.removesuffix("-design") if design.name == DESIGN and folder.endswith("-design") else design.stem
