"""What a defect code means, in our own words, and where the meaning comes from."""

import re

import pytest

from repairs.domain.defect_codes import DEFECT_CODES, FROM_MEMORY, READ, meaning_of


@pytest.mark.parametrize(
    ("code", "meaning"),
    [
        ("BAB", "crack, the pieces still in place"),  # EN 13508-2, read in public texts
        ("bab", "crack, the pieces still in place"),  # however it is written
        ("BABBA", "crack, the pieces still in place"),  # with its further letters
        ("BBF", "groundwater comes in"),  # EN 13508-2, read in public texts
        ("XYZ", "the owner's own code"),
        ("BA", "the owner's own code"),  # no main code yet
        ("", "the owner's own code"),
    ],
)
def test_a_code_is_told_in_plain_words(code: str, meaning: str) -> None:
    """The first three letters are the main code; another owner's list is said to be that."""
    assert meaning_of(code) == meaning


def test_every_main_code_has_its_words_and_its_source() -> None:
    """Three capital letters, plain words, and whether they were read or remembered."""
    for code, (words, source) in DEFECT_CODES.items():
        assert re.fullmatch(r"B[AB][A-P]", code)
        assert words
        assert words == words.strip()
        assert source in (READ, FROM_MEMORY)


def test_no_two_codes_mean_the_same() -> None:
    """Each code has words of its own."""
    words = [meaning for meaning, _ in DEFECT_CODES.values()]

    assert len(set(words)) == len(words)
