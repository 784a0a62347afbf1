"""Tests of what is cut."""
