"""Small pages of qa: a repair, its packages."""
