"""Tests of optimizer.recheck."""
