"""The script of the benchmarks works, and its page is one that it wrote."""

from __future__ import annotations

from math import inf
from pathlib import Path

import pytest

from optimizer.search import search
from tests.bench.__main__ import main
from tests.bench.answer import Answer, ContradictionError, exact_j, hold_against
from tests.bench.cases import AHEAD, PEERS, TINY
from tests.bench.growing import MACHINES, every_measured
from tests.bench.hard import HARD
from tests.bench.middle import CHAINS, DRILLS, run_middle
from tests.bench.page import HEADINGS
from tests.bench.page_middle import middle_part
from tests.bench.store import Store
from tests.docs.pages import page


def test_the_script_measures_a_tiny_instance_without_the_extra(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With scipy alone the search and one general solver close the instance, agree, and fill their row of the page."""
    call = ["peers", "--tiny", "--rounds", "1", "--solvers", "HiGHS"]
    assert main([*call, "--store", str(tmp_path / "store"), "--docs", str(tmp_path)]) == 0
    told = capsys.readouterr().out
    assert f"== peers\n{TINY.name}\n" in told
    text = (tmp_path / "benchmarks.md").read_text(encoding="utf-8")
    assert [line for line in text.splitlines() if line.startswith("#")] == list(HEADINGS)
    assert "- 1 instances; this search closed 1." in text
    # found by the search and by HiGHS, SCIP and CP-SAT
    assert f"| {TINY.name} | 255 | 0.09619166, proved | same, proved |" in text


def test_a_middle_cone_and_three_stages_fill_their_rows(tmp_path: Path) -> None:
    """What is proved of a drill with two middle cones has its F worked out again; three stages stand beside two."""
    store, said = Store(tmp_path), list[str]()
    run_middle([DRILLS[1], CHAINS[0]], store, said.append)
    assert [line.split(":")[0] for line in said] == [DRILLS[1].name, CHAINS[0].name]
    _, _, drills, _, chains = middle_part(store)
    row = next(line for line in drills.splitlines() if line.startswith(f"| {DRILLS[1].name} |"))
    assert row.split(" | ")[2].endswith(", proved")
    assert row.split(" | ")[3] == "0.0 %"
    assert f"| {CHAINS[0].name} |" in chains


def test_the_page_is_the_script_s() -> None:
    """docs/benchmarks.md has the headings that the script writes, in their order."""
    assert [line for line in page("benchmarks.md").splitlines() if line.startswith("#")] == list(HEADINGS)


def test_every_row_has_a_name_of_its_own() -> None:
    """No two instances, hard cases or measurements share a name, and there are as many as are promised."""
    for names in (
        *([row.name for row in rows] for rows in (PEERS, AHEAD, HARD)),
        [*(drill.name for drill in DRILLS), *(chain.name for chain in CHAINS)],
    ):
        assert len(set(names)) == len(names)
    assert (len(PEERS) >= 24, len(AHEAD) >= 13, len(MACHINES) >= 10) == (True, True, True)
    assert len(every_measured()) == 5 * len(MACHINES) + 23


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (Answer("proved", 0.02, 0.02), Answer("proved", 0.0200002, 0.0200002)),
        (Answer("proved", 0.02, 0.02), Answer("proved", 0.0199998, 0.0199998)),
        (Answer("proved", 0.02, 0.02), Answer("time", 0.0199999, 0.01)),
        (Answer("proved", 0.02, 0.02), Answer("no design", bound=inf)),
        (Answer("no design", bound=inf), Answer("value only", 0.5)),
        (Answer("time", 0.02, 0.01), Answer("time", 0.005)),
        (Answer("time", 0.02, 0.01), Answer("time", 0.03, 0.021)),
    ],
)
def test_a_contradiction_stops_the_script(ours: Answer, theirs: Answer) -> None:
    """Optima apart, a design better than a proved one, a design where there is none, a design below a bound."""
    with pytest.raises(ContradictionError):
        hold_against(ours, theirs)


@pytest.mark.parametrize(
    "theirs",
    [
        Answer("proved", 0.02, 0.02),
        Answer("time", 0.03, 0.01),
        Answer("time", bound=-inf),
        Answer("value only"),
        Answer("value only", 0.02),
    ],
)
def test_answers_that_may_both_be_true_are_let_pass(theirs: Answer) -> None:
    """The same optimum, a worse design, no design found: none of these contradicts a proved optimum."""
    hold_against(Answer("proved", 0.02, 0.02), theirs)


def test_a_design_that_breaks_a_rule_has_no_value() -> None:
    """Where a solver's tolerance lets a rule go, its design is refused and not counted."""
    problem = TINY.make()
    candidate = search(problem).candidate
    assert candidate is not None
    assert exact_j(problem, candidate.stages) == pytest.approx(0.09619165595457657, abs=1e-12)
    tight = problem.stages[0].model_copy(update={"clearance_mm": 400.0})
    with pytest.raises(ContradictionError, match="breaks a rule"):
        exact_j(problem.model_copy(update={"stages": (tight,)}), candidate.stages)
