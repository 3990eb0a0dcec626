"""What each crew would be told if a plan were published."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from dispatch.domain.plan_news import Visit, news_for
from dispatch.models import Assignment, Crew, Plan


@dataclass(frozen=True, slots=True)
class CrewNews:
    """A crew and the words that are another for it than before; none: it is told nothing."""

    crew: Crew
    words: str


def news_before_publishing(plan: Plan) -> tuple[CrewNews, ...]:
    """Return for each crew of a draft, or that loses something by it, what it would be told.

    The words are those of the notice itself, for a plan that still holds.
    """
    stops = plan.stops.select_related("crew", "repair")
    told = Assignment.objects.select_related("repair", "crew").filter(
        pk__in=[UUID(each) for each in plan.told.values()], cancelled_at__isnull=True
    )
    was = _by_crew((row.crew, _visit(row)) for row in told)
    will = _by_crew(
        (stop.crew, Visit(str(stop.repair_id), stop.repair.ref, stop.starts_at)) for stop in stops
    )
    crews = sorted({*was, *will}, key=lambda each: each.code)
    return tuple(
        CrewNews(crew, news_for(was.get(crew, ()), will.get(crew, ()), crew.time_zone))
        for crew in crews
    )


def _by_crew(visits: Iterable[tuple[Crew, Visit]]) -> Mapping[Crew, list[Visit]]:
    found: dict[Crew, list[Visit]] = {}
    for crew, visit in visits:
        found.setdefault(crew, []).append(visit)
    return found


def _visit(row: Assignment) -> Visit:
    return Visit(str(row.repair_id), row.repair.ref, row.starts_at)
