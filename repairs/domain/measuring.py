"""Puts a mistake in measuring right in one step: a wrong zero, a wrong access point, a wrong end.

The crew reports the mistake once; every distance it had reported until then is read anew.
What was reported first stays beside it, under `AS_REPORTED`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from repairs.domain.field_event import Event, EventKind

AS_REPORTED = "as_reported"
"""Where a corrected event keeps the words it came with."""
FROM_OTHER_END = "from_other_end"
"""Marks distances that were measured from the end opposite the one that was named."""
PARTS: Mapping[str, tuple[str, ...]] = {
    "counter": ("counter_m",),
    "tape": ("tape_m",),
    "placing": ("distance_m",),
    "all": ("counter_m", "tape_m", "distance_m"),
}
"""Which of the distances a wrong zero touches."""
CORRECTING = ("too_long_by_m", "too_short_by_m", "datum", FROM_OTHER_END)
"""What a correction says; one that says none of it corrects nothing."""
_DISTANCES = frozenset({EventKind.DISTANCE_MARKED, EventKind.PLACED})


def as_corrected(steps: Iterable[Event]) -> tuple[Event, ...]:
    """Return the steps with their distances as the crew's corrections say.

    Parameters
    ----------
    steps
        Events that count, in order. A correction touches the distances before it, or with
        `corrects` the one event it names. Done twice it changes nothing more.

    Returns
    -------
    tuple of Event
        The same steps; those with a corrected distance hold the words they came with.
    """
    read: list[Event] = []
    for step in steps:
        if step.kind is EventKind.MEASURING_CORRECTED:
            read = [_corrected(each, step) if _touches(step, each) else each for each in read]
        as_it_came = step.data.get(AS_REPORTED) if step.kind in _DISTANCES else None
        read.append(step if as_it_came is None else replace(step, data=as_it_came))
    return tuple(read)


def _touches(correction: Event, event: Event) -> bool:
    if event.kind not in _DISTANCES:
        return False
    return correction.corrects is None or correction.corrects == event.id


def _corrected(event: Event, correction: Event) -> Event:
    said, data = correction.data, dict(event.data)
    data.setdefault(AS_REPORTED, event.data)
    shift_m = float(said.get("too_short_by_m", 0.0)) - float(said.get("too_long_by_m", 0.0))
    for name in PARTS[said.get("of", "all")]:
        if name in data:
            data[name] = float(data[name]) + shift_m
    if said.get("datum"):
        data["datum"] = said["datum"]
    if said.get(FROM_OTHER_END):
        data[FROM_OTHER_END] = not data.get(FROM_OTHER_END, False)
    return replace(event, data=data)


def own_datum(data: Mapping[str, Any], datum_ref: str, other_end_ref: str) -> bool | None:
    """Tell whether distances were measured from the datum; None from neither end of the run."""
    if data["datum"] not in (datum_ref, other_end_ref):
        return None
    return bool((data["datum"] == datum_ref) is not data.get(FROM_OTHER_END, False))
