"""The command that checks a made machine again."""

from __future__ import annotations

import codecs
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from cli.codes import CHECK_FAILED, DONE
from cli.design_file import DESIGN, read_job
from cli.folder import as_typed, refuse_target, write_folder
from cli.limits import Limits
from cli.progress import Progress
from cli.scenario_file import read_bytes, unreadable
from cli.streams import say, visible
from optimizer.documents.data import record_json
from optimizer.documents.recheck import recheck_files, recheck_screen
from optimizer.pipeline.job import Job
from optimizer.recheck.loading import is_table, load_measured
from optimizer.recheck.verdict import MeasuredFile, recheck

__all__ = ["RECHECK_FILES", "RecheckCall", "measured_in", "recheck_file"]

RECHECK_FILES = frozenset({"recheck.json", "recheck.md"})
"""Files of the folder that the command writes."""
LARGEST_BYTES = 1_000_000
"""No file of measurements is as large as this."""


@dataclass(frozen=True)
class RecheckCall:
    """What the command was called with."""

    design: Path
    measured: Path
    as_changed: bool
    as_json: bool
    quiet: bool
    force: bool
    out: Path | None


def recheck_file(call: RecheckCall) -> int:
    """Check a made machine again, write the folder where one is named, print the result."""
    if call.out is not None:
        refuse_target(call.out, RECHECK_FILES.__contains__, force=call.force)
    file = call.design / DESIGN if call.design.is_dir() else call.design
    job, remarks = read_job(file, as_changed=call.as_changed)
    measured = measured_in(call.measured, job)
    with Progress(quiet=call.quiet) as progress, Limits().clock(progress) as clock:
        told = recheck(job, measured, clock)
    division_mm = job.scenario.making.division_mm
    written: tuple[Path, ...] = ()
    if call.out is not None:
        files = recheck_files(told, job.design.machine, division_mm)
        written = write_folder(call.out, files, RECHECK_FILES.__contains__, force=call.force)
    print(record_json(told) if call.as_json else recheck_screen(told, job.design.machine, division_mm), end="")
    if not call.quiet:
        say(*remarks, *(f"written: {as_typed(path)}" for path in written))
    return CHECK_FAILED if told.in_doubt else DONE


def measured_in(path: Path, job: Job) -> MeasuredFile:
    """Return what was measured on a machine, out of its file.

    Raises
    ------
    ScenarioError
        The file cannot be read, or is none of such a machine.
    """
    content = read_bytes(path, LARGEST_BYTES, "the file of measurements", "name a file of measurements")
    name = visible(path.name)
    measured = load_measured(_text(path, content), name, job.design.machine, job.scenario.units)
    return MeasuredFile(measured, name, sha256(content).hexdigest())


def _text(path: Path, content: bytes) -> str:
    """Return the text of a file; spreadsheets save tables in older encodings too."""
    encoding = "utf-16" if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) else "utf-8-sig"
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as error:
        if is_table(path.name) and encoding == "utf-8-sig" and b"\0" not in content:
            return content.decode("cp1252", errors="replace")
        raise unreadable(path, f"is not text in UTF-8 (byte {error.start})", "save it again as UTF-8") from None
