"""Measurements, outside the test suite; each tells with --help what it measures."""
