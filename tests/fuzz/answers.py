"""Answers to the questions of `new` that nobody would give."""

from __future__ import annotations

from pathlib import Path
from random import Random
from typing import Any

from cli.scenario_file import LARGEST_BYTES, read_text
from optimizer.asking import filled, given_answers
from optimizer.asking.interview import QUESTIONS
from optimizer.asking.purposes import PURPOSES
from tests.fuzz.edges import QUANTITIES, a_name, an_edge
from tests.fuzz.judging import ask_part
from tests.fuzz.making import spoilt
from tests.fuzz.mutations import PLAIN_CHANGES, some_of
from tests.fuzz.running import Call, Outcome, command, put
from tests.fuzz.written import toml_text

__all__ = ["answers_bytes", "run_answers"]

FILE = "case.answers"
MADE = ("made.toml", "made-countershaft.toml")
WORDS = (
    "none", "yes", "no", True, False, "both", "one stage", "countershaft", "in", "cm", "hinge", "slide", "fixed",
    "link", "stock", "timber", "metal", "sizes", "bands", "4L", "Z", "PJ 4", "flat 3x40", "IEC 71", "60 to 90",
    "2 x 63, 71+80, 90", "1 x 1120", "1000, 1250", ["a: 100 to 900 rpm, 24 speeds", "b: 40 to 60"], "lead weight",
    ["a: 80 to 200 mm at 8 to 12 m/s, 3 speeds"], ["a: 1 to 60000 rpm"], ["w: 2 to 3 in at 2000 ft/min x 18"], 60, 24,
)  # fmt: skip
"""What some question takes."""


def answers_bytes(seed: int, number: int) -> bytes:
    """Return the file of a case: some questions answered well or with what others take, then changed like any tree."""
    random = Random(f"{seed}/{number}/answers")
    tree: dict[str, Any] = {"motor_speed": random.choice(("1420 rpm", 1725, "2840", 940)), "motor_power": "0.75 kW"}
    tree["purpose"] = random.choice(PURPOSES).name
    odd = random.choice((1.0, 0.97, 0.9, 0.6))
    for question in random.sample(QUESTIONS, random.randrange(len(QUESTIONS))):
        example = list(question.example) if isinstance(question.example, tuple) else question.example
        kind = random.random()
        other = random.choice((*WORDS, *QUANTITIES)) if kind < 0.97 else an_edge(random)
        tree[question.name] = example if kind < odd else other
    if random.random() < 0.3:
        tree["title"] = a_name(random)
    for change in some_of(PLAIN_CHANGES, random, random.choice((0, 0, 1, 1, 2, 3))):
        change(tree, random)
    data = toml_text(tree).encode("utf-8", "surrogatepass")
    return spoilt(data, random) if random.random() < 0.05 else data


def run_answers(seed: int, number: int, folder: Path, share: float) -> Outcome:
    """Read the answers of a case and all that follows from them; put a share of those that are right to `new`."""

    def read() -> int:
        filled(given_answers(read_text(Path(FILE), LARGEST_BYTES, "answer fewer")))
        return 0

    calls = [Call(lambda folder: ask_part("read", folder, read))]
    if Random(f"{seed}/{number}/calls").random() < share:
        calls.append(command("new", "--answers", FILE, "--out", MADE[0], writes=MADE))
    return put((FILE, answers_bytes(seed, number)), number, folder, calls)
