"""How tests are run: examples of properties, what workers share, the longest files first, memory."""

from __future__ import annotations

import gc
import os
from pathlib import Path

import pytest
from hypothesis import settings

from tests.sampled import examples
from tests.shared import keep_in

HERE = Path(__file__).parent
LONGEST = (
    "browser/test_seeing.py",
    "fuzz/test_fuzz.py",
    "search/test_least_changes.py",
    "docs/test_readme.py",
    "docs/test_shipped.py",
    "docs/test_fresh.py",
    "golden/test_golden.py",
    "golden/test_kernels.py",
    "browser/test_printing.py",
    "cli/test_new_terminal.py",
    "browser/test_choosing.py",
    "independent/test_independent.py",
    "faults/test_locales.py",
    "faults/test_kills.py",
    "cli/test_process.py",
    "cli/test_in_hand.py",
    "cli/test_wheel.py",
    "faults/test_disks.py",
    "unit/pipeline/test_free.py",
    "unit/refine/test_middle_rounded.py",
    "unit/recheck/test_screens.py",
    "cli/test_papers.py",
    "unit/cuts/test_belt_window.py",
    "unit/pipeline/test_extreme_machines.py",
)
"""Files begun first, the longest first, so that no worker is left alone with a long one at the end."""

# as for the command line: looking for rings among all that was gathered takes a twentieth of the time
gc.set_threshold(100_000, 20, 50)
# a test is judged by what it finds, never by how long it takes
settings.register_profile("untimed", deadline=None, max_examples=examples(100))
settings.load_profile("untimed")


@pytest.fixture(scope="session", autouse=True)
def _shared_by_workers(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Let the workers of one run share designs: the folders of all are in the one of the run."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        keep_in(tmp_path_factory.getbasetemp().parent)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the longest files first; all others stay in their order."""
    places = {HERE / name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path, len(places)))


def pytest_collection_finish() -> None:
    """Leave what was gathered out of every later search for rings of objects that nothing else holds."""
    gc.collect()
    gc.freeze()
