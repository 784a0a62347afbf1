"""Tests of conewright."""
