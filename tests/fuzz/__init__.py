"""Scenarios that nobody would write, by the thousand: ``python -m tests.fuzz 50000 --seed 1``."""
