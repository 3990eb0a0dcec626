"""Django's folder for commands."""
