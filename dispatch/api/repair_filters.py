"""Which repairs are asked for: by customer, order, place, crew, day and stage."""

from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet
from django.utils.dateparse import parse_datetime

from repairs.domain.problem import Fault, malformed, shown
from repairs.domain.progress import LIVE_STAGES, Stage
from repairs.domain.storable import unstorable
from repairs.models import Repair

_PATHS = {
    "customer": "work_order__customer__code",
    "work_order": "work_order__number",
    "site": "run__site__ref",
    "run": "run__ref",
    "ref": "ref",
}
QUESTIONS = frozenset({*_PATHS, "crew", "from", "until", "stage", "live"})
"""Every parameter that narrows a list of repairs."""


def filtered(rows: QuerySet[Repair], asked: Any) -> QuerySet[Repair]:
    """Narrow repairs to those asked for."""
    for name, path in _PATHS.items():
        if name in asked:
            rows = rows.filter(**{path: _plain(name, asked[name])})
    # One filter for all that is said of the assignment: it must hold of one and the same.
    assignment = _assignment_asked(asked)
    if assignment:
        rows = rows.filter(assignments__cancelled_at__isnull=True, **assignment)
    if "stage" in asked:
        if asked["stage"] not in {stage.value for stage in Stage}:
            expected = "one of " + ", ".join(stage.value for stage in Stage)
            raise malformed(Fault("stage", shown(asked["stage"]), expected))
        rows = rows.filter(stage=asked["stage"])
    if "live" in asked:
        live = Q(stage__in=[stage.value for stage in LIVE_STAGES])
        rows = rows.filter(live if _yes("live", asked["live"]) else ~live)
    return rows.distinct()


def _yes(name: str, value: str) -> bool:
    if value not in ("yes", "no"):
        raise malformed(Fault(name, shown(value), "yes or no"))
    return value == "yes"


def _assignment_asked(asked: Any) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if "crew" in asked:
        found["assignments__crew__code"] = _plain("crew", asked["crew"])
    for name, compare in (("from", "gte"), ("until", "lt")):
        if name in asked:
            found[f"assignments__starts_at__{compare}"] = _moment(name, asked[name])
    return found


def _plain(name: str, value: str) -> str:
    if unstorable(value):
        raise malformed(Fault(name, shown(value), "text"))
    return value


def _moment(name: str, value: str) -> datetime:
    try:
        found = parse_datetime(value)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        expected = "a time with its offset, such as 2026-11-25T00:00:00-05:00 (send + as %2B)"
        raise malformed(Fault(name, shown(value), expected))
    return found
