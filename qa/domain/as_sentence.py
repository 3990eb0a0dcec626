"""A rule's words as a sentence, for a page or a report."""


def as_sentence(words: str) -> str:
    """Return words with a capital first and one full stop last; nothing stays nothing.

    >>> as_sentence("no photo of the label")
    'No photo of the label.'
    """
    plain = words.strip()
    if not plain:
        return ""
    stop = "" if plain.endswith((".", "!", "?")) else "."
    return f"{plain[0].upper()}{plain[1:]}{stop}"
