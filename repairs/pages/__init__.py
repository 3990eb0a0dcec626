"""Small pages of repairs: the way in."""
