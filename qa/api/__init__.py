"""Doors of evidence, proof and packages."""
