"""Use cases of dispatch: one keyword-only verb each, one transaction."""
