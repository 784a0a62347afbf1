"""Tests of optimizer.asbuilt."""
