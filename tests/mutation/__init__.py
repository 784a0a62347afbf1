"""Mutation testing: ``python -m tests.mutation geometry`` breaks code on purpose and asks whether a test notices."""
