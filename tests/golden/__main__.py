"""``python -m tests.golden``: hold all outputs against their digests, renew these, or write the outputs somewhere.

python -m tests.golden                      # what differs from the digests
python -m tests.golden --write              # renew the digests and print what changed
python -m tests.golden --out A [--raw]      # write the outputs themselves, as they are compared or as they are
python -m tests.golden --out B --against A  # and print how they differ from some written before
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from difflib import unified_diff
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.golden.digests import changed, kept, outputs, renewed
from tests.golden.producing import ANSWERS, CALLS, SCENARIOS

MOST_LINES = 40
"""Of a file's differences that are printed."""


def main() -> int:
    """Return 1 where something differs that was to be the same."""
    parser = argparse.ArgumentParser(prog="python -m tests.golden", description=__doc__.splitlines()[0])
    parser.add_argument("machines", nargs="*", help="stems of scenarios or answers; all unless given")
    parser.add_argument("--calls", nargs="*", default=(), choices=tuple(CALLS), help="only these calls")
    parser.add_argument("--write", action="store_true", help="renew the digests")
    parser.add_argument("--out", type=Path, help="folder to write the outputs to")
    parser.add_argument("--raw", action="store_true", help="with --out: bytes as they are, by every library")
    parser.add_argument("--against", type=Path, help="with --out: an earlier folder to compare with")
    parser.add_argument("--jobs", type=int, default=2)
    call = parser.parse_args()
    if (call.raw or call.against) and not call.out:
        parser.error("--raw and --against go with --out")
    machines = [path for path in (*SCENARIOS, *ANSWERS) if not call.machines or path.stem in call.machines]
    with ThreadPoolExecutor(call.jobs) as pool:
        differing = sum(pool.map(lambda machine: _one(machine, call), machines))
    print(f"{len(machines)} machines, {differing} outputs differ", flush=True)
    return int(bool(differing) and not call.write)


def _one(machine: Path, call: argparse.Namespace) -> int:
    with TemporaryDirectory() as place:
        found = outputs(machine, Path(place), tuple(call.calls), raw=call.raw)
    if call.out:
        for name, content in found.items():
            path = call.out / machine.stem / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        lines = list(_against(found, call.against / machine.stem)) if call.against else []
        differing = sum(line.startswith("==") for line in lines)
    else:
        lines = [f"== {machine.stem}/{line}" for line in changed(found, kept(machine), whole=not call.calls)]
        differing = len(lines)
    if call.write:
        renewed(machine, found)
    print("\n".join([f"{machine.stem}: {len(found)} outputs, {differing} differ", *lines]), flush=True)
    return differing


def _against(found: dict[str, bytes], folder: Path) -> Iterator[str]:
    """Yield the lines that differ, file by file."""
    before = {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    for name in sorted(before.keys() | found.keys()):
        old, new = before.get(name, b""), found.get(name, b"")
        if old != new:
            yield f"== {folder.name}/{name}"
            one, other = (side.decode("utf-8", "replace").splitlines() for side in (old, new))
            difference = list(unified_diff(one, other, lineterm="", n=1))[2:]
            yield from (line[:200] for line in difference[:MOST_LINES])
            if len(difference) > MOST_LINES:
                yield f"... {len(difference) - MOST_LINES} lines more"


if __name__ == "__main__":
    sys.exit(main())
