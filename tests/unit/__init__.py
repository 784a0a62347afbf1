"""Tests that mirror the code."""
