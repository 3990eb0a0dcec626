"""Use cases that change what repairs keeps: one keyword-only verb each, one transaction."""
