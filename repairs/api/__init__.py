"""Doors of orders, places, the catalogue and prescriptions."""
