"""Chromium without a window, opened on files of this machine alone."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

__all__ = ["Seen", "opened", "started"]

NAMES = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
REQUIRED = "CONEWRIGHT_BROWSER"
"""Where this is `required` in the environment, no browser is a failure; otherwise the tests are skipped."""


class Seen(NamedTuple):
    """A page with what it said and what it asked for."""

    page: Page
    said: list[str]
    """Errors and messages of the console."""
    asked: list[str]
    """Addresses of all requests."""


@contextmanager
def started() -> Iterator[Browser]:
    """Give a browser; skip, or fail where one is required, if none is installed."""
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        reason = f"no browser is installed: looked for {', '.join(NAMES)}"
        if os.environ.get(REQUIRED) == "required":
            pytest.fail(reason)
        pytest.skip(reason)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield browser
        browser.close()


@contextmanager
def opened(browser: Browser, file: Path, **context: Any) -> Iterator[Seen]:
    """Open a file in a context of its own, such as a width, a colour scheme, no script."""
    own = browser.new_context(**context)
    said: list[str] = []
    asked: list[str] = []
    page = own.new_page()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    yield Seen(page, said, asked)
    own.close()
