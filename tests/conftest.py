"""How hypothesis runs here: a test is judged by what it finds, never by how long it takes."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
