"""Searches for the plan that was asked for: outside any transaction, watched, to be called off."""

import logging
import time
from uuid import UUID

from django.db import OperationalError, connection
from django.utils import timezone

from dispatch.domain.plan.plan import Checked
from dispatch.domain.what_if import supposed_from
from dispatch.models import PlanRun
from dispatch.plan_facts.drafts import Draft, draft_of
from dispatch.plan_facts.facts import plan_facts
from dispatch.plan_facts.stored_plan import stops_by_name
from dispatch.planning.budget import Budget
from dispatch.planning.engine import PlanEngine
from duework.domain.work import Lease

log = logging.getLogger(__name__)
LOOK_EVERY_S = 1.0
_FIRST_PERCENT, _LAST_PERCENT = 10, 95


def search_plan(*, run_id: str, lease: Lease) -> Draft | None:
    """Return the best plan found in the time that was given; None when it is not wanted any more.

    Called once more after a crash it begins anew, from the rows as they stand then.
    """
    run = PlanRun.objects.select_related("derived_from").get(pk=run_id)
    if run.state not in PlanRun.OPEN:
        return None
    watch = _Watch(run, lease)
    watch.say(1, "reading what there is to plan")
    facts = plan_facts(
        starts_on=run.starts_on,
        days=run.days,
        supposed=supposed_from(run.changes),
        now=timezone.now(),
        asked_for=_asked_for(run),
    )
    watch.say(3, f"{len(facts.problem.repairs)} repairs, {len(facts.problem.crew_days)} crew-days")
    before = run.derived_from
    planned = PlanEngine().solve(
        facts.problem,
        Budget(
            iterations=run.iterations,
            wall_s=None if run.iterations else float(run.search_s),
            stop=watch.must_stop,
        ),
        seed=run.seed,
        previous=facts.so_far if before is None else stops_by_name(before, facts),
        on_first=watch.first,
    )
    watch.say(_LAST_PERCENT, "finding the reasons")
    return draft_of(
        facts,
        planned.problem,
        planned.best,
        planned.refused,
        method=planned.method,
        engine=planned.engine,
        words=planned.words,
        trace=planned.trace,
    )


def _asked_for(run: PlanRun) -> list[UUID]:
    """Return the repairs of the plan it comes from: what is closed meanwhile is told."""
    if run.derived_from is None:
        return []
    return list(run.derived_from.stops.values_list("repair_id", flat=True))


class _Watch:
    """Writes how far the search is, about each second, and learns whether to end it."""

    def __init__(self, run: PlanRun, lease: Lease) -> None:
        self._run, self._lease = run, lease
        self._began = self._looked = time.monotonic()
        self._cancelled = run.cancel_asked_at is not None
        self._said = ""

    def say(self, percent: int, words: str) -> None:
        """Write a step down."""
        self._said = words
        self._write(percent)

    def first(self, plan: Checked) -> None:
        """Tell that a plan stands already."""
        self._began = self._looked = time.monotonic()
        done = sum(len(each.stops) for each in plan.timelines)
        words = f"a first plan holds {done} repairs and leaves out {len(plan.left_out)}; searching"
        self.say(_FIRST_PERCENT, words)

    def must_stop(self) -> bool:
        """Return whether somebody has called it off; looks about each second."""
        at = time.monotonic()
        if at - self._looked >= LOOK_EVERY_S and not self._cancelled:
            self._looked = at
            share = min(1.0, (at - self._began) / max(self._run.search_s, 1))
            self._write(_FIRST_PERCENT + int(share * (_LAST_PERCENT - _FIRST_PERCENT)))
        return self._cancelled

    def _write(self, percent: int) -> None:
        try:
            self._lease.report(percent)
            open_run = PlanRun.objects.filter(pk=self._run.pk, state__in=PlanRun.OPEN)
            open_run.update(state=PlanRun.SEARCHING, percent=percent, said=self._said)
            row = PlanRun.objects.filter(pk=self._run.pk).values_list("cancel_asked_at").first()
        except OperationalError as error:
            # How far it is matters less than that it goes on; the next look connects anew.
            log.warning("The progress of a plan was not written: %s", error)
            if not connection.in_atomic_block:
                connection.close()
            return
        self._cancelled = row is None or row[0] is not None
