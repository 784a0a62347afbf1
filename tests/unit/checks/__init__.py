"""Tests of optimizer.checks."""
