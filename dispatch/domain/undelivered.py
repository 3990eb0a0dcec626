"""Why a message did not go out, in words for whoever waits for it."""

from collections.abc import Mapping

_FAULTS: Mapping[tuple[str, str], str] = {
    ("NoAnswerError", "no answer"): "the address does not answer",
    ("NoAnswerError", "the mail server"): "the mail server does not answer",
    ("UndeliverableError", "the mail server"): "the mail server did not take it",
    ("UndeliverableError", "no mail server"): "no mail server is set here",
}
_TOLD = ("leads to a private", "is not found", "expected ", "not an address")
"""Parts of what is said of an address itself: its owner may read that as it is."""


def why_not_sent(last_error: str) -> str:
    """Return the cause of the last attempt, out of what the queue kept of it; empty for none.

    What only the machine room understands (the words of a mail server, a fault of ours) is not
    repeated.
    """
    kind, _, words = last_error.partition(": ")
    if not kind:
        return ""
    for (fault, begins), plain in _FAULTS.items():
        if kind == fault and words.startswith(begins):
            return plain
    if kind == "UndeliverableError" and words.startswith("answered "):
        status = words.removeprefix("answered ").partition(",")[0]
        return f"the address answered with status {status} and not with one from 200 to 299"
    if kind == "UndeliverableError" and any(part in words for part in _TOLD):
        return words
    return "something went wrong here"
