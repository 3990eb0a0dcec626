"""Use cases of proof: one keyword-only verb each, one transaction."""
