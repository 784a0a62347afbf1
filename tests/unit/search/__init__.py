"""Tests of the exact search."""
