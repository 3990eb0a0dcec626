"""Doors of crews, assignments, repairs in the field and field events."""
