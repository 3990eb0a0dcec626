"""What each truck loads on a morning of a plan."""

from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from dispatch.models import Equipment, Lot, Plan
from dispatch.pages.plans.doors import READERS
from dispatch.pages.plans.plan_page import plan_head
from dispatch.pages.plans.plan_words import day_words
from dispatch.plan_facts.load_list import TruckList, truck_lists
from repairs.domain.units import Dimension, words
from repairs.models import KitType
from repairs.pages.doors import DoorPage, PageDoors, show


@dataclass(frozen=True, slots=True)
class LoadLine:
    """Kits of a lot; without a lot they are missing."""

    kit: str
    count: int
    lot: str
    use_until: date | None


@dataclass(frozen=True, slots=True)
class GearLine:
    """A packer or another piece of gear, with its test date."""

    what: str
    test_due_on: date


@dataclass(frozen=True, slots=True)
class TruckSheet:
    """One truck's list to tick."""

    crew: str
    repairs: str
    loads: tuple[LoadLine, ...]
    missing: tuple[LoadLine, ...]
    packers: tuple[GearLine, ...]
    other: tuple[GearLine, ...]


class TrucksPage(DoorPage):
    """The load-out lists of one of a plan's days."""

    doors: PageDoors = {"GET": READERS}

    def get(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        """Show the lists of the day that was asked for, else of the first."""
        plan = get_object_or_404(Plan, pk=plan_id)
        days = [plan.starts_on + timedelta(days=n) for n in range(plan.days)]
        asked = request.GET.get("on", "")
        on = next((day for day in days if day.isoformat() == asked), days[0])
        wrong = "" if asked in {"", on.isoformat()} else "That is no day of this plan."
        context = {
            "head": plan_head(plan, self.account),
            "on": day_words(on),
            "days": [(day.isoformat(), day_words(day), day == on) for day in days],
            "wrong": wrong,
            "trucks": [truck_sheet(each) for each in truck_lists(plan, on)],
        }
        status = 422 if wrong else 200
        return show(request, "dispatch/plans/trucks.html", context, status=status)


def truck_sheet(found: TruckList) -> TruckSheet:
    """Return a truck's list in words, with how long each lot may be used."""
    lots = dict(
        Lot.objects.filter(number__in=[each.lot for each in found.loads if each.lot]).values_list(
            "number", "expires_on"
        )
    )
    kits = dict(
        KitType.objects.filter(code__in=[each.kit_code for each in found.loads]).values_list(
            "code", "name"
        )
    )
    lines = [
        LoadLine(kits.get(e.kit_code, e.kit_code), e.count, e.lot or "", lots.get(e.lot or ""))
        for e in found.loads
    ]
    return TruckSheet(
        crew=found.crew.name,
        repairs=", ".join(found.repairs),
        loads=tuple(each for each in lines if each.lot),
        missing=tuple(each for each in lines if not each.lot),
        packers=tuple(_packer(each) for each in found.packers),
        other=tuple(
            GearLine(f"{e.kind.capitalize()} {e.serial}", e.test_due_on) for e in found.other
        ),
    )


def _packer(row: Equipment) -> GearLine:
    ends = (row.diameter_min_mm or 0.0, row.diameter_max_mm or 0.0)
    bores = " to ".join(words(each, Dimension.DIAMETER, 0) for each in ends)
    return GearLine(f"Packer {row.serial} for {bores}", row.test_due_on)
