"""Tests of optimizer.catalogue."""
