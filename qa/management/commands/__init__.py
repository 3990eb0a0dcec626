"""The command ``calculate``."""
