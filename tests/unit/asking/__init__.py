"""Tests of what changing limits would do."""
