"""The command that says what is wrong with a scenario."""

from __future__ import annotations

__all__ = ["check_file"]
