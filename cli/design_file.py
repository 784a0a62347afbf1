"""Reading a design back, and refusing one that is no longer that of its scenario."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from cli.folder import as_typed
from cli.limits import Limits
from cli.progress import Progress
from cli.scenario_file import bytes_of
from cli.streams import visible
from optimizer.documents.data import ChangedDesignError, design_of_json
from optimizer.errors import Fault, ScenarioError
from optimizer.pipeline.design import design
from optimizer.pipeline.job import Job, StaleDesignError, checked_job
from optimizer.records.design import Design
from optimizer.scenario import Scenario

__all__ = ["DESIGN", "designed_job", "is_design", "read_job"]

DESIGN = "design.json"
"""Name of a design's document."""
LARGEST_BYTES = 50_000_000
"""No design is as large as this."""
LONGEST_SAID = 200
"""Characters of what is wrong with a document."""
ANEW = "design it anew: conewright design {} --force"


def is_design(path: Path) -> bool:
    """Tell whether a file is meant to be a design rather than a scenario: by its name."""
    return path.suffix.lower() == ".json"


def read_job(path: Path, *, as_changed: bool) -> tuple[Job, tuple[str, ...]]:
    """Return the design in a file beside its scenario, and remarks on what it was compared with.

    It is refused where a scenario file of its name lies in the folder of the design, in the one above, or in the one
    the call is made from, and none of these holds the text that the design was made from.

    Raises
    ------
    ScenarioError
        The file cannot be read, is no design, is stale, or was changed and is not to be taken so.
    """
    result, changed = _design_in(path, as_changed=as_changed)
    name = result.scenario.file
    found = list(_scenarios_of(path, name))
    if found and not any(text == result.scenario.text for _, text in found):
        where = as_typed(found[0][0])
        raise _refused(path, f"it was made from another text of {name} than {where} holds now", ANEW.format(where))
    try:
        job = checked_job(result, changed=changed)
    except StaleDesignError as error:
        raise _refused(path, str(error), ANEW.format(name)) from error
    if found:
        return job, ()
    return job, (f"{as_typed(path.absolute())} was compared with the scenario it carries; no {name} lies beside it.",)


def designed_job(
    scenario: Scenario, path: Path, progress: Progress, *, as_changed: bool
) -> tuple[Job, tuple[str, ...]]:
    """Return the design of a scenario: the one that `design` wrote, or, where it wrote none, one made now.

    Raises
    ------
    ScenarioError
        There is a design, but not of this text, or it was changed and is not to be taken so.
    """
    there = Path(f"{path.stem}-design") / DESIGN
    if not there.is_file():
        with Limits().clock(progress) as clock:
            made = Job(design(scenario, clock=clock), scenario)
        return made, (f"There is no {there}, so the machine was designed for these papers.",)
    result, changed = _design_in(there, as_changed=as_changed)
    if result.scenario.text != scenario.text:
        raise _refused(there, f"it was made from another text of {path.name}", ANEW.format(path))
    try:
        return checked_job(result, changed=changed), (f"Papers of {there}.",)
    except StaleDesignError as error:
        raise _refused(there, str(error), ANEW.format(path)) from error


def _design_in(path: Path, *, as_changed: bool) -> tuple[Design, bool]:
    """Return the design that a file holds, and whether it was changed after it was written."""
    try:
        content = bytes_of(path, LARGEST_BYTES)
        if len(content) > LARGEST_BYTES:
            raise _refused(path, f"the file is larger than {LARGEST_BYTES:,} bytes", "name a design.json")
        return design_of_json(content), False
    except ChangedDesignError as error:
        if as_changed:
            return error.design, True
        advice = f"{ANEW.format(error.design.scenario.file)}; or take it with --as-changed, which every page then says"
        raise _refused(path, str(error), advice) from None
    except FileNotFoundError:
        raise _refused(path, "the file is not there", "check the name, or the folder you are in") from None
    except OSError as error:
        raise _refused(
            path, f"the file cannot be read ({error.strerror or error})", "check the name and who may read it"
        ) from None
    except ValueError as error:
        raise _refused(path, f"it is not a design as this version writes it ({_short(error)})", _advice(path)) from None


def _short(error: ValueError) -> str:
    """Return what is said of the first thing wrong, on one line."""
    said = " ".join(str(error).split())
    return said if len(said) <= LONGEST_SAID else f"{said[:LONGEST_SAID]}…"


def _advice(path: Path) -> str:
    """Return what to try with a file that is no design of this version; one of another version names its scenario."""
    with suppress(OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        form = json.loads(bytes_of(path, LARGEST_BYTES))["format"]
        if str(form).startswith("conewright design"):
            return "design it anew: conewright design, with its scenario"
        return f"name a design.json; this is {str(form)[:60]!r}"
    return "name a design.json, or a scenario in TOML"


def _scenarios_of(path: Path, name: str) -> Iterator[tuple[Path, str]]:
    """Yield the files that may be the scenario of a design, each with its text."""
    folder = path.absolute().parent
    if Path(name).name != name:
        return
    for place in dict.fromkeys((folder / name, folder.parent / name, Path.cwd() / name)):
        with suppress(OSError, UnicodeDecodeError):
            yield place, bytes_of(place, LARGEST_BYTES).decode("utf-8-sig")


def _refused(path: Path, what: str, advice: str) -> ScenarioError:
    return ScenarioError([Fault(visible(str(path)), what, advice=advice)])
