"""The command line: what each command is called with."""

from __future__ import annotations

import gc
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from cli.codes import ends_with_code, leave
from cli.limits import MEGABYTES, SECONDS
from optimizer.documents.kinds import Kind, PaperSize

__all__ = ["app", "main"]

app = typer.Typer(
    name="conewright",
    help="Designs the step cones, belts and centre distances of a shop machine driven by an electric motor.",
    epilog=(
        "Exit codes: 0 done; 2 the scenario or the call is wrong; 3 no design exists; 4 a check failed; "
        "5 cannot write, or stopped with ^C before all was written; 1 a bug."
    ),
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


class Prefer(StrEnum):
    """What is made best."""

    EVENNESS = "evenness"
    TIMBER = "timber"
    DISC = "disc"
    GRIP = "grip"


class Subject(StrEnum):
    """What a schema is of."""

    SCENARIO = "scenario"
    DESIGN = "design"
    COMPARISON = "comparison"
    NO_DESIGN = "no-design"
    SPEEDS = "speeds"
    CUTS = "cuts"
    BUYING = "buying"
    RECHECK = "recheck"


File = Annotated[Path, typer.Argument(metavar="FILE", help="The machine's scenario, a TOML file.", show_default=False)]

Time = Annotated[
    float,
    typer.Option(
        "--time", metavar="SECONDS", help="Time for searching; then the best so far is told, with what is not proved."
    ),
]
Memory = Annotated[int, typer.Option("--memory", metavar="MB", help="Memory at which a search ends in the same way.")]


def _show_version(wanted: bool) -> None:
    if wanted:
        # looking among the installed packages takes a moment that --help need not wait for
        from importlib.metadata import PackageNotFoundError, version

        try:
            typer.echo(f"conewright {version('conewright')}")
        except PackageNotFoundError:
            typer.echo("conewright, not installed")
        raise typer.Exit


@app.callback()
def _all(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version.", is_eager=True, callback=_show_version)
    ] = False,
) -> None:
    pass


@app.command(epilog="Example: conewright new --answers drill.answers --out drill.toml")
@ends_with_code
def new(
    answers: Annotated[
        Path | None,
        typer.Option("--answers", metavar="FILE", help="Ask nothing; take the answers of a file.", show_default=False),
    ] = None,
    resume: Annotated[
        Path | None,
        typer.Option("--resume", metavar="FILE", help="Go on from answers that were kept.", show_default=False),
    ] = None,
    questions: Annotated[
        bool, typer.Option("--questions", help="Print a file of answers to fill in, every question explained.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="Scenario to write, never one that is there; named after the machine if not given.",
            show_default=False,
        ),
    ] = None,
) -> int:
    """Ask for a machine and write a commented scenario that check accepts."""
    # pydantic, numpy: a third of a second that --help need not wait for
    from cli.new import NewCall, new_machine

    return new_machine(NewCall(answers, resume, questions, out))


@app.command(epilog="Example: conewright check mill.toml")
@ends_with_code
def check(file: File) -> int:
    """Read a scenario and say everything that is wrong with it."""
    # pydantic, numpy: a third of a second that --help need not wait for
    from cli.check import check_file

    return check_file(file)


@app.command(epilog='Example: conewright speeds lathe.toml --motor "1750 rpm"')
@ends_with_code
def speeds(
    file: File,
    motor: Annotated[
        str | None,
        typer.Option("--motor", metavar="SPEED", help="Ask what another motor would give.", show_default=False),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print one JSON document instead of tables.")] = False,
) -> int:
    """Tell the speeds, belt fit and checks of a fully known machine."""
    # scipy, pydantic, numpy: a second that --help need not wait for
    from cli.speeds import speeds_of_file

    return speeds_of_file(file, motor, as_json=json)


@app.command(epilog="Example: conewright design mill.toml --layout 2x4 --out mill-2x4")
@ends_with_code
def design(  # noqa: PLR0913 - a command's parameters are its options
    file: File,
    layout: Annotated[
        str | None,
        typer.Option("--layout", metavar="NxM", help="Only this layout, such as 2x4.", show_default=False),
    ] = None,
    order: Annotated[
        str | None,
        typer.Option(
            "--order", metavar="ORDER", help="Only this order: coarse, fine, or interleaved.", show_default=False
        ),
    ] = None,
    prefer: Annotated[
        Prefer,
        typer.Option(
            "--prefer", help="Best evenness; or, within a slack, least timber, smallest largest disc, greatest grip."
        ),
    ] = Prefer.EVENNESS,
    changes: Annotated[
        bool,
        typer.Option("--changes", help="Tell too what every limit could give up, and what a little more would buy."),
    ] = False,
    papers: Annotated[
        bool, typer.Option("--papers", help="Write all papers into the folder too; see the command of that name.")
    ] = False,
    json: Annotated[
        bool, typer.Option("--json", help="Print design.json instead of tables; a folder only with --out.")
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress, no remarks.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace an earlier result.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder to write; FILE's name with -design added if not given.",
            show_default=False,
        ),
    ] = None,
    time: Time = SECONDS,
    memory: Memory = MEGABYTES,
) -> int:
    """Design a machine: every diameter, belt and centre distance."""
    # scipy, pydantic, numpy: a second that --help need not wait for
    from cli.design import DesignCall, design_file
    from cli.limits import Limits

    limits = Limits(time, memory).checked()
    return design_file(DesignCall(file, layout, order, prefer.value, json, quiet, force, out, changes, papers, limits))


@app.command(epilog="Example: conewright compare mill.toml --orders --out mill-layouts")
@ends_with_code
def compare(  # noqa: PLR0913 - a command's parameters are its options
    file: File,
    orders: Annotated[
        bool, typer.Option("--orders", help="One row for every order of a layout, not only its best one.")
    ] = False,
    extremes: Annotated[
        bool,
        typer.Option(
            "--extremes", help="Rows for least timber, smallest largest disc, best grip too, where they differ."
        ),
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print comparison.json instead of tables.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress, no remarks.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace an earlier result.")] = False,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Folder to write.", show_default=False)
    ] = None,
    time: Time = SECONDS,
    memory: Memory = MEGABYTES,
) -> int:
    """Set layouts side by side, each with its best order, sizes and belts."""
    # scipy, pydantic, numpy: a second that --help need not wait for
    from cli.compare import CompareCall, compare_file
    from cli.limits import Limits

    limits = Limits(time, memory).checked()
    return compare_file(CompareCall(file, orders, extremes, json, quiet, force, out, limits))


@app.command(epilog="Example: conewright papers mill.toml --only cuts --only sections --paper A3")
@ends_with_code
def papers(  # noqa: PLR0913 - a command's parameters are its options
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="A design.json, or a scenario, a TOML file.", show_default=False),
    ],
    only: Annotated[
        list[Kind] | None,
        typer.Option(
            "--only",
            metavar="KIND",
            help=f"Only these papers, and so on for several: {', '.join(Kind)}.",
            show_default=False,
        ),
    ] = None,
    paper: Annotated[
        PaperSize | None,
        typer.Option(
            "--paper", help="Size of the pages; A4, or Letter where the scenario is in inches.", show_default=False
        ),
    ] = None,
    speed: Annotated[
        int | None,
        typer.Option("--speed", metavar="N", help="Speed at which the belts are drawn, from 1.", show_default=False),
    ] = None,
    as_changed: Annotated[
        bool, typer.Option("--as-changed", help="Take a design.json that was changed; every page says so.")
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress, no remarks.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace earlier papers.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder to write; FILE's name with -papers added if not given.",
            show_default=False,
        ),
    ] = None,
) -> int:
    """Write lists, drawings, speed plate and design sheet; a stale or changed design is refused."""
    # scipy, pydantic, numpy, the drawing libraries: more than a second that --help need not wait for
    from cli.papers import PapersCall, papers_of_file

    chosen, size = tuple(kind.value for kind in only or ()), paper.value if paper else None
    return papers_of_file(PapersCall(file, chosen, size, speed, as_changed, quiet, force, out))


@app.command(epilog="Example: conewright recheck mill-design mill-design/measured.toml --out mill-recheck")
@ends_with_code
def recheck(  # noqa: PLR0913 - a command's parameters are its options
    file: Annotated[
        Path,
        typer.Argument(metavar="DESIGN", help="A design.json, or the folder that design wrote.", show_default=False),
    ],
    measured: Annotated[
        Path,
        typer.Argument(
            metavar="MEASURED",
            help="What was measured: the form in that folder, filled in, as TOML or CSV.",
            show_default=False,
        ),
    ],
    as_changed: Annotated[
        bool, typer.Option("--as-changed", help="Take a design.json that was changed; every page says so.")
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print recheck.json instead of tables.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress, no remarks.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace an earlier result.")] = False,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Folder to write.", show_default=False)
    ] = None,
) -> int:
    """Check a made machine by its measured sizes: fit, speeds, what to skim, or that all is well."""
    # scipy, pydantic, numpy: a second that --help need not wait for
    from cli.recheck import RecheckCall, recheck_file

    return recheck_file(RecheckCall(file, measured, as_changed, json, quiet, force, out))


@app.command(epilog="Example: conewright schema design")
@ends_with_code
def schema(
    of: Annotated[Subject, typer.Argument(metavar="SUBJECT", help="What the schema is of.")] = Subject.SCENARIO,
) -> int:
    """Print the JSON schema of a scenario, or of a result."""
    # pydantic: building the schema needs every record
    from cli.schema import print_schema

    return print_schema(of.value)


def main() -> None:
    """Run the command line and leave with its exit code."""
    # a call makes many objects and drops few: looking for rings among them so often costs a tenth of its time
    gc.set_threshold(100_000, 20, 50)
    leave(lambda: app(prog_name="conewright"))
