"""One browser for all tests of a process, with the sheets of the machines that are opened."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.chromium import started
from tests.browser.jobs import Sheets


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Give the browser."""
    with started() as found:
        yield found


@pytest.fixture(scope="session")
def sheets(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return the sheet of every machine as a file; none is made where there is no browser to open it."""
    assert browser.is_connected()
    return Sheets(tmp_path_factory.mktemp("sheets"))
