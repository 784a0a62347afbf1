"""Tests of optimizer.mechanics."""
