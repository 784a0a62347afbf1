"""Benchmarks against general solvers: ``python -m tests.bench`` writes docs/benchmarks.md."""
