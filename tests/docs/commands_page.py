"""The command reference, made from what each command's --help is made from."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from enum import Enum
from typing import Any, get_args, get_type_hints

from typer.models import CommandInfo, OptionInfo

from cli.main import app
from tests.docs.markup import joined, table

__all__ = ["commands_page"]

NEEDED = "must be given"
OPENING = """Made from the commands' own help by `python -m tests.fresh_docs --write`; `conewright --help` and
`conewright COMMAND --help` say the same on the terminal.

Results go to stdout, remarks and progress to stderr; progress shows only on a terminal. A file is read as UTF-8 and is
never changed. [scenario.md](scenario.md) lists what may stand in it."""

FOLDER = """## The folder that `design` writes

`cuts.csv` has a line for every step, `design.md` is the sheet to print or keep with the machine, and `design.json`
holds all of it for other programs, by the schema that `conewright schema design` prints. `measured.toml` and
`measured.csv` are forms for what is measured on the made machine; [recheck.md](recheck.md) tells how. The folder is
written under another name, then renamed, so that it is whole or not there. An earlier result is replaced only with
`--force`, and never a folder that holds anything else, nor a form that has been filled in. With `--json` alone nothing
is written.

`compare` writes a folder only with `--out`, in the same way: `comparison.json` by the schema that
`conewright schema comparison` prints, `comparison.md` with the tables, `speeds.svg` with the speed chart.

With `CONEWRIGHT_TRACEBACK=1` in the environment a bug says where it happened."""


def commands_page() -> str:
    """Return the page."""
    parts = ["# Commands", OPENING, *(_command(info) for info in app.registered_commands), FOLDER]
    codes = str(app.info.epilog).removeprefix("Exit codes: ").rstrip(".").split("; ")
    return joined(*parts, "## Exit codes", table(("code", "meaning"), (code.split(" ", 1) for code in codes)))


def _command(info: CommandInfo) -> str:
    """Return the section of one command."""
    function = inspect.unwrap(info.callback or _command)
    rows = list(_rows(function))
    usage = " ".join(
        [
            "conewright",
            function.__name__,
            *(_called(row) for row in rows if row[0][0] != "-"),
            "[OPTIONS]" * _takes(rows),
        ]
    )
    head = f"## conewright {function.__name__}"
    parameters = table(("argument or option", "meaning", "default"), [(f"`{row[0]}`", *row[1:]) for row in rows])
    return joined(head, f"    {usage.strip()}", inspect.cleandoc(function.__doc__ or ""), parameters, _example(info))


def _called(row: tuple[str, str, str]) -> str:
    return row[0] if row[2] == NEEDED else f"[{row[0]}]"


def _takes(rows: list[tuple[str, str, str]]) -> bool:
    return any(name.startswith("-") for name, *_ in rows)


def _example(info: CommandInfo) -> str:
    return f"Example: `{str(info.epilog).removeprefix('Example: ')}`"


def _rows(function: Any) -> Iterator[tuple[str, str, str]]:
    """Yield name, meaning and default of every parameter, in the order of the help page."""
    hints = get_type_hints(function, include_extras=True)
    for name, parameter in inspect.signature(function).parameters.items():
        kind, said = get_args(hints[name])[:2]
        choices = [str(choice.value) for choice in kind] if isinstance(kind, type) and issubclass(kind, Enum) else []
        words = "\\|".join(choices) if choices else said.metavar or ""
        shown = f"--{name} {words}" if isinstance(said, OptionInfo) else said.metavar
        meaning = said.help if isinstance(said, OptionInfo) or not choices else f"{said.help} One of: {words}."
        yield shown.strip(), meaning, _default(parameter.default)


def _default(value: Any) -> str:
    if value is inspect.Parameter.empty:
        return NEEDED
    if isinstance(value, bool):
        return "off"
    return str(value.value) if isinstance(value, Enum) else ""
