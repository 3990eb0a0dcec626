"""Django finds commands here."""
