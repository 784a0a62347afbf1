"""Designs that were changed by hand or by a program: any value, any key, with the old digest or with one that fits."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from cli.design_file import read_job
from optimizer.documents.data import design_json
from optimizer.documents.kinds import Kind
from optimizer.documents.papers import paper_files, paper_options
from optimizer.records.design import Design
from tests.fuzz.edges import NUMBERS, a_name, an_edge, near, scaled
from tests.fuzz.judging import ask_part
from tests.fuzz.running import Call, Outcome, command, put
from tests.jobs import DIFFERENT, job

__all__ = ["run_tampered", "tampered_case"]

FILE = "case.json"
PLACES = ("stage[0]", "stage[1]", "stage[7]", "stage[0].driver", "stage[1].driven", "motor", "spindle", "band[9]", "x")
"""Keys of places in a scenario, some of which a machine has not."""


@cache
def _text(name: str) -> str:
    return design_json(job(name).design)


def tampered_case(seed: int, number: int) -> tuple[bytes, bool]:
    """Return the file of a case, and whether its digest was worked out anew."""
    random = Random(f"{seed}/{number}/tampered")
    document = json.loads(_text(random.choice(DIFFERENT)))
    for _ in range(random.choice((1, 1, 1, 2, 3, 6))):
        _change(document, random)
    sealed = random.random() < 0.5 and _seal(document)
    return json.dumps(document, default=str, ensure_ascii=False).encode("utf-8", "surrogatepass"), sealed


def _change(document: Any, random: Random) -> None:
    """Change one value, found by going down from key to key, so that every section is met as often."""
    node: Any = document
    while node:
        key: Any = random.choice(list(node)) if isinstance(node, dict) else random.randrange(len(node))
        inner = node[key]
        if not isinstance(inner, dict | list) or not inner or random.random() < 0.08:
            break
        node = inner
    else:
        return
    how = random.randrange(10)
    if how == 0:
        del node[key]
    elif how == 1 and isinstance(node, list):
        node.insert(key, node[random.randrange(len(node))])
    elif isinstance(inner, list):
        node[key] = random.choice((inner[:-1], inner[::-1], inner + inner, []))
    else:
        node[key] = _other(inner, random)


def _other(value: Any, random: Random) -> Any:
    """Return a value in the place of one, most often of its own kind."""
    if random.random() < 0.1:
        return random.choice((None, an_edge(random), random.choice(NUMBERS)))
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return random.choice((0, -1, value + 1, value - 1, 10 * value, 99))
    if isinstance(value, float):
        return random.choice((scaled(value, random), near(value, random), 0.0, -value, 1e300, 1e-300, None))
    return random.choice((random.choice(PLACES), a_name(random), near(value, random), value))


def _seal(document: Any) -> bool:
    """Give a document the digest that fits it, where it is a design at all."""
    try:
        document["digest"] = Design.model_validate({k: v for k, v in document.items() if k != "digest"}).digest
    except (ValueError, TypeError, AttributeError, RecursionError):
        return False
    return True


def run_tampered(seed: int, number: int, folder: Path, share: float) -> Outcome:
    """Read the design of a case; make papers of a share of those that are taken."""
    data, sealed = tampered_case(seed, number)
    return put((FILE, data), number, folder, _calls(Random(f"{seed}/{number}/calls"), share, sealed=sealed))


def _calls(random: Random, share: float, *, sealed: bool) -> Iterator[Call]:
    def read() -> int:
        read_job(Path(FILE), as_changed=not sealed)
        return 0

    def papers() -> int:
        made, _ = read_job(Path(FILE), as_changed=not sealed)
        some = random.sample([kind.value for kind in Kind if kind not in (Kind.SHEET, Kind.SECTIONS)], 3)
        kinds = some if random.random() < 0.5 else [Kind.SHEET.value]
        paper_files(made, paper_options(made, kinds))
        return 0

    yield Call(lambda folder: ask_part("read", folder, read))
    if random.random() < share:
        yield Call(lambda folder: ask_part("papers", folder, papers))
    if random.random() < share / 20:
        flag = () if sealed else ("--as-changed",)
        yield command("papers", FILE, *flag, "--quiet", "--out", "made", writes=("made",))
