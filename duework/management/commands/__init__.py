"""The command ``run_due``."""
