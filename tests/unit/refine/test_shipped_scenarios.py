"""Refinement and rounding on the scenarios that come with the project."""

from __future__ import annotations

from math import inf

import pytest

from tests.bench.rounding import RoundedBoth, rounding_table, shipped_roundings


@pytest.fixture(scope="module")
def rows() -> list[RoundedBoth]:
    """Both roundings of every shipped scenario with something turned."""
    return shipped_roundings()


def test_joint_rounding_is_never_worse(rows: list[RoundedBoth]) -> None:
    """On every shipped scenario that turns something the sizes rounded together are no worse than each by itself."""
    assert len(rows) >= 6
    for row in rows:
        assert row.joint < inf, row.scenario
        assert row.joint <= row.nearest + 1e-12, row.scenario


def test_joint_rounding_is_better(rows: list[RoundedBoth]) -> None:
    """On some it is better by a tenth, and on some rounding each by itself breaks a rule that it keeps."""
    assert sum(row.joint < 0.9 * row.nearest for row in rows if row.nearest < inf) >= 1
    assert sum(row.nearest == inf for row in rows) >= 1


def test_rounding_costs_little(rows: list[RoundedBoth]) -> None:
    """Rounding never improves on the refined J, and raises it by less than a percent on every shipped scenario."""
    for row in rows:
        assert row.refined - 1e-9 <= row.joint <= row.refined + 0.01, row.scenario


def test_the_table_tells_the_rule_that_breaks() -> None:
    """The table has a row a scenario, and says which rule rounding each by itself breaks."""
    table = rounding_table()
    assert "| pattern-mill |" in table
    assert "breaks a rule: stage[1]: the positions' own centre distances lie" in table
