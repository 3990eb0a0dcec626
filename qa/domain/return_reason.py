"""Why a client returns a requirement: a code to count, words for the crew, a place in a film."""

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


def reason_words(reason: Mapping[str, str]) -> str:
    """Say a reason in one line, as the crew reads it."""
    code, at = reason.get("code", "other"), reason.get("timecode", "")
    words = [] if code == "other" else [CODES.get(code, code)]
    words += [f"at {at} of the film"] if at else []
    note = reason.get("note", "")
    return f"{', '.join(words)}: {note}" if words else note
