"""Texts that go into a table which somebody opens with a spreadsheet."""


def inert(text: str) -> str:
    """Keep a spreadsheet from running a text as a formula: it gets a leading apostrophe."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text
