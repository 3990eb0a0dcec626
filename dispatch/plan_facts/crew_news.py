"""What each crew would be told if a plan were published."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from dispatch.domain.plan_news import Visit, news_for
from dispatch.models import Assignment, Crew, Plan, PlanStop


@dataclass(frozen=True, slots=True)
class CrewNews:
    """A crew and the words that are another for it than before; none: it is told nothing."""

    crew: Crew
    words: str


def news_before_publishing(plan: Plan) -> tuple[CrewNews, ...]:
    """Return for each crew of a draft, or that loses something by it, what it would be told.

    The words are those of the notice itself, for a plan that still holds.
    """
    stops = plan.stops.select_related("crew", "repair__run__site", "beside__repair")
    told = Assignment.objects.select_related("repair__run__site", "crew", "beside__repair").filter(
        pk__in=[UUID(each) for each in plan.told.values()], cancelled_at__isnull=True
    )
    was, will = visits_by_crew(told), visits_by_crew(stops)
    crews = sorted({*was, *will}, key=lambda each: each.code)
    return tuple(
        CrewNews(crew, news_for(was.get(crew, ()), will.get(crew, ()), crew.time_zone))
        for crew in crews
    )


def visits_by_crew(rows: Iterable[Assignment | PlanStop]) -> Mapping[Crew, list[Visit]]:
    """Return each crew's repairs as news speaks of them, of what it has or is to get."""
    found: dict[Crew, list[Visit]] = {}
    for row in rows:
        visit = Visit(
            key=str(row.repair_id),
            repair=row.repair.ref,
            starts_at=row.starts_at,
            street=row.repair.run.site.street,
            beside="" if row.beside is None else row.beside.repair.ref,
        )
        found.setdefault(row.crew, []).append(visit)
    return found
