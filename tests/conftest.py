"""How hypothesis runs here: a test is judged by what it finds, never by how long it takes."""

from __future__ import annotations

from hypothesis import settings

from tests.sampled import examples

settings.register_profile("untimed", deadline=None, max_examples=examples(100))
settings.load_profile("untimed")
