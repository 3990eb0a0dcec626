"""Why a client returns a requirement: a code to count, words for the crew, a place in a film."""

import math
import re
from collections.abc import Mapping

CODES: Mapping[str, str] = {
    "not_shown": "the proof does not show it",
    "not_as_required": "it is shown, and not as required",
    "wrong_place": "another place or pipe",
    "figures_differ": "figures do not agree",
    "unreadable": "a file cannot be read or seen",
    "other": "something else",
}
"""Coded reasons, with what they say."""

TIMECODE = re.compile(r"^\d{1,2}:[0-5]\d(:[0-5]\d)?$")
"""Minutes and seconds, or hours, minutes and seconds, from the start of the film."""


def timecode_s(timecode: str) -> int:
    """Return the seconds from the start of the film to a place in it, as TIMECODE writes it."""
    seconds = 0
    for part in timecode.split(":"):
        seconds = seconds * 60 + int(part)
    return seconds


def beyond_film(timecode: str, longest_s: float | None) -> str:
    """Say how long the longest film is where a place lies beyond it; empty where it can be right.

    `longest_s` is None where no film's length is known: then any place may be right.
    """
    if longest_s is None or timecode_s(timecode) <= math.ceil(longest_s):
        return ""
    minutes, seconds = divmod(math.ceil(longest_s), 60)
    return f"a place within the longest film of the package, which ends at {minutes}:{seconds:02d}"


def reason_words(reason: Mapping[str, str]) -> str:
    """Say a reason in one line, as the crew reads it."""
    code, at = reason.get("code", "other"), reason.get("timecode", "")
    words = [] if code == "other" else [CODES.get(code, code)]
    words += [f"at {at} of the film"] if at else []
    note = reason.get("note", "")
    return f"{', '.join(words)}: {note}" if words else note
