"""A second batch of resin after a sleeve was let go: what is done for it, and what is not."""

from repairs.domain.event_order import moment_of
from repairs.domain.field_event import Event, EventKind
from repairs.domain.progress import Progress

_AFTER_MIXING = frozenset(
    {
        EventKind.WET_OUT_DONE,
        EventKind.PLACED,
        EventKind.INFLATED,
        EventKind.DEFLATED,
        EventKind.WITHDRAWN,
        EventKind.FILMED,
        EventKind.LEFT,
    }
)


def new_batch(progress: Progress) -> Event | None:
    """Return the mixing of a batch that has not been inflated, after an earlier one was let go.

    Only where the order is beyond doubt: by unsure clocks nothing is taken away.
    """
    mixing = progress.event(EventKind.MIXING_STARTED)
    inflated = progress.event(EventKind.INFLATED)
    if mixing is None or inflated is None or not _surely_before(inflated, mixing):
        return None
    let_go = (*progress.all_of(EventKind.DEFLATED), *progress.all_of(EventKind.WITHDRAWN))
    return mixing if any(_surely_before(event, mixing) for event in let_go) else None


def done_for_the_batch(progress: Progress) -> frozenset[EventKind]:
    """Return the steps that are done, for the batch in hand where there is a new one."""
    mixing = new_batch(progress)
    if mixing is None:
        return frozenset(progress.latest)
    return frozenset(
        kind
        for kind, event in progress.latest.items()
        if kind not in _AFTER_MIXING or not _surely_before(event, mixing)
    )


def _surely_before(event: Event, other: Event) -> bool:
    return moment_of(event).latest < moment_of(other).earliest
