"""From rows to what is planned, and from a stored plan back to values."""
