"""Tests of refinement and rounding."""
