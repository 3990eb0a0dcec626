"""Asks what a crew's truck and people have that runs out."""

from datetime import datetime
from zoneinfo import ZoneInfo

from dispatch.domain.escalation import USUAL
from dispatch.domain.reminder import ask
from dispatch.domain.reminders_truck import TABLE, RunsOut, TruckFacts
from dispatch.models import Crew, KitStock, Qualification
from dispatch.services.reminder_sources import Asked, reminder_source

TRUCK = "truck"


@reminder_source(TRUCK, of=Crew)
def ask_truck(subject_id: str, now: datetime) -> Asked | None:
    """Return what a crew's truck and people ask to be told; no contract sets their ladder."""
    crew = Crew.objects.filter(pk=subject_id).first()
    if crew is None:
        return None
    facts = TruckFacts(
        zone=crew.time_zone,
        kits=tuple(
            RunsOut(str(row.lot_id), f"Lot {row.lot.number}", row.lot.expires_on)
            for row in KitStock.objects.select_related("lot").filter(crew=crew, quantity__gt=0)
        ),
        gear=tuple(
            RunsOut(str(row.pk), f"{row.kind} {row.serial}", row.test_due_on)
            for row in crew.equipment.all()
        ),
        certificates=_newest(crew),
    )
    return Asked(
        reminders=ask(TABLE, facts, now),
        repair=None,
        crew=crew,
        zone=ZoneInfo(crew.time_zone),
        ladder=USUAL,
    )


def _newest(crew: Crew) -> tuple[RunsOut, ...]:
    """Return of each member the certificate of each kind that lasts longest."""
    rows = Qualification.objects.select_related("member").filter(member__crew=crew)
    newest = {(row.member_id, row.kind): row for row in rows.order_by("expires_on")}
    return tuple(
        RunsOut(str(row.pk), f"The certificate '{row.kind}' of {row.member.name}", row.expires_on)
        for row in newest.values()
    )
