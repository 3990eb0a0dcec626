"""Which code does which kind of work, and which kinds follow which announcement.

A handler lives in its app's ``due_work.py``, found at start-up::

    @handler("remind-crew")
    def remind_crew(item: Item, context: Context) -> Outcome:
        repair = Repair.objects.get(pk=item.subject_id)
        if not_yet_cured(repair, context.now):
            return Again(cure_estimate(repair))
        ...
        return Done()

It is called inside the finishing transaction: its writes, the effect and "done"
are committed together or not at all. It must be quick and must not talk to the
outside. Slow work goes into `prepare`, called before, outside any transaction,
while a background thread renews the lease::

    def build(item: Item, lease: Lease) -> Path:
        for n, part in enumerate(parts):
            lease.report(100 * n // len(parts))   # raises LeaseLostError when another took over
            ...
        return path

    @handler("build-package", prepare=build)
    def publish(item: Item, context: Context) -> Outcome:
        Package.objects.create(path=context.prepared)
        return Done()

`prepare` may run more than once (a crash, a lost lease), so it writes to names
made from ``item.id`` and talks to the outside with ``item.dedupe_key`` as the
idempotency key.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any

from django.core.exceptions import ImproperlyConfigured
from django.utils.module_loading import autodiscover_modules

from duework.domain.work import Context, Item, Lease, Outcome

Finish = Callable[[Item, Context], Outcome]
Prepare = Callable[[Item, Lease], Any]


class Lane(Enum):
    """Which kinds a runner takes: with one for each, nothing slow makes a message late."""

    ALL = "all"
    QUICK = "quick"
    SLOW = "slow"
    OUTSIDE = "outside"


@dataclass(frozen=True)
class Handler:
    """One kind of work: the part in the transaction, and the slow part before it, if any.

    `outside` says that the slow part waits for somebody else's server, for seconds at most.
    """

    kind: str
    finish: Finish
    prepare: Prepare | None = None
    outside: bool = False

    @property
    def lane(self) -> Lane:
        """Return the lane that takes it, beside the one that takes all."""
        if self.prepare is None:
            return Lane.QUICK
        return Lane.OUTSIDE if self.outside else Lane.SLOW


_handlers: dict[str, Handler] = {}
_subscribers: dict[str, list[str]] = {}


def handler(
    kind: str, *, prepare: Prepare | None = None, outside: bool = False
) -> Callable[[Finish], Finish]:
    """Register the decorated function as the one that does work of this kind."""

    def register(finish: Finish) -> Finish:
        known = _handlers.get(kind)
        if known is not None and known.finish is not finish:
            raise ImproperlyConfigured(f"Due work {kind!r} has two handlers.")
        _handlers[kind] = Handler(kind, finish, prepare, outside)
        return finish

    return register


def subscribe(topic: str, kind: str) -> None:
    """Have `announce(topic)` schedule one item of `kind`; the announcer knows nobody."""
    kinds = _subscribers.setdefault(topic, [])
    if kind not in kinds:
        kinds.append(kind)


def find(kind: str) -> Handler:
    """Return the handler of `kind`; LookupError, with the kinds there are, when unknown."""
    try:
        return _handlers[kind]
    except KeyError:
        known = ", ".join(sorted(_handlers)) or "none"
        raise LookupError(f"No handler for due work {kind!r}; known: {known}.") from None


def subscribers(topic: str) -> tuple[str, ...]:
    """Return the kinds that follow `topic`, in the order they subscribed."""
    return tuple(_subscribers.get(topic, ()))


def kinds_in(*lanes: Lane) -> list[str]:
    """Return the kinds that these lanes take."""
    return [kind for kind, found in _handlers.items() if found.lane in lanes]


def prepared_kinds() -> list[str]:
    """Return the kinds with a `prepare`."""
    return kinds_in(Lane.SLOW, Lane.OUTSIDE)


def load_handlers() -> None:
    """Import each app's ``due_work`` module and check that every subscription has a handler."""
    autodiscover_modules("due_work")
    for topic, kinds in _subscribers.items():
        for kind in kinds:
            if kind not in _handlers:
                raise ImproperlyConfigured(f"{topic!r} is followed by {kind!r}: no handler.")
