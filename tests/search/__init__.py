"""Tests of the search against computations that share nothing with it."""
