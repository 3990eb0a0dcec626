"""Turns what the core says against a figure into a fault of the field that was sent.

The core says ``diameter_mm: found 0.0, expected more than 0.``; whoever sent ``diameter``
must read of `diameter`.
"""

import re
from collections.abc import Sequence

from repairs.domain.problem import Fault

_SAID = re.compile(r"(?P<field>[\w.\[\]]+)(?:, \w+)*: found (?P<found>.*), expected (?P<right>.*)")
_NAMED = re.compile(r"(?P<field>[\w.\[\]]+): (?P<rest>.*)")


def fault_said(words: str, known: Sequence[str], path: str = "") -> Fault:
    """Return a message of the core as a fault of one of the fields `known`.

    Parameters
    ----------
    words
        The message.
    known
        Names of the fields that were sent, without units.
    path
        What the fields lie under, if anything.

    Returns
    -------
    Fault
        Of the field the message names; of the whole where it names none of them.
    """
    said = _SAID.match(words)
    if said:
        return Fault(_name(said["field"], known, path), said["found"], said["right"].rstrip("."))
    named = _NAMED.match(words)
    if named:
        right = f"figures that go together: {named['rest'].rstrip('.')}"
        return Fault(_name(named["field"], known, path), "what was sent", right)
    return Fault(path or "body", "what was sent", words.rstrip("."))


def _name(inside: str, known: Sequence[str], path: str) -> str:
    """Take the unit off a name of the inside: the longest known beginning is meant."""
    head = re.split(r"[.\[]", inside, maxsplit=1)[0]
    fits = [name for name in known if head == name or head.startswith(f"{name}_")]
    name = max(fits, key=len) + inside[len(head) :] if fits else inside
    return f"{path}.{name}".lstrip(".")
