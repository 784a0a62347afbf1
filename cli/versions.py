"""Which version of the program is running."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version

__all__ = ["version_line"]


def version_line() -> str:
    """Return name and version of the installed program."""
    try:
        return f"conewright {version('conewright')}"
    except PackageNotFoundError:
        return "conewright, not installed"
