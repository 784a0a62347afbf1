"""Design random machines and verify every one: ``python -m tests.independent 5000 --seed 1 --jobs 2 --state FILE``."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from pathlib import Path

from tests.independent.campaign import campaign, report, seeds_of

__all__ = ["main"]


def main(arguments: list[str]) -> int:
    """Run a campaign, print what it found, return 1 where something is wrong."""
    parser = ArgumentParser(prog="python -m tests.independent", description=__doc__)
    parser.add_argument("count", type=int, help="how many machines")
    parser.add_argument("--seed", type=int, default=1, help="seed of the campaign")
    parser.add_argument("--jobs", type=int, default=1, help="processes at once")
    parser.add_argument("--state", type=Path, help="file to which results go as they come, and from which to go on")
    parser.add_argument("--known", action="store_true", help="fully known machines, of which only figures are told")
    call = parser.parse_args(arguments)
    records = []
    try:
        for record in campaign(seeds_of(call.seed, call.count), call.jobs, call.state, known=call.known):
            records.append(record)
            if record["violations"]:
                print(f"machine {record['seed']}: {record['violations'][0]}", file=sys.stderr, flush=True)
            if len(records) % 100 == 0:
                print(f"{len(records)} of {call.count}", file=sys.stderr, flush=True)
    except KeyboardInterrupt:
        print("stopped; the same call with --state goes on", file=sys.stderr)
    except ValueError as error:
        print(error, file=sys.stderr)
        return 2
    print("\n".join(report(records)))
    return 1 if any(record["violations"] for record in records) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
