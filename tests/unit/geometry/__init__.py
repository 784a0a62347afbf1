"""Tests of optimizer.geometry."""
