"""What a plan is asked with, and how one is shown."""

from typing import Any
from uuid import UUID

from rest_framework import serializers

from dispatch.domain.what_if import (
    Supposition,
    WhatIf,
    supposed_from,
    supposition_faults,
    words_of,
)
from dispatch.models import Crew, Equipment, Plan, PlanStop
from dispatch.services.plan_ask import MOST_DAYS
from dispatch.services.plan_setup import PRICE_NAMES
from repairs.api.strict import StrictSerializer
from repairs.domain.problem import Fault, malformed
from repairs.models import Repair, Site

MOST_CHANGES = 50


class SearchIn(StrictSerializer):
    """How to search: with `iterations` the same rows and seed give the same plan."""

    label = serializers.CharField(  # type: ignore[assignment]
        max_length=100, allow_blank=True, default=""
    )
    seed = serializers.IntegerField(min_value=0, max_value=2**31 - 1, required=False)
    search_s = serializers.IntegerField(min_value=1, max_value=600, required=False)
    iterations = serializers.IntegerField(min_value=1, max_value=1_000_000, required=False)


class PlanIn(SearchIn):
    """Which days to plan."""

    starts_on = serializers.DateField()
    days = serializers.IntegerField(min_value=1, max_value=MOST_DAYS)


class ChangeIn(StrictSerializer):
    """One thing that is supposed; which fields it takes depends on its kind."""

    kind = serializers.ChoiceField([word.value for word in Supposition])
    crew = serializers.SlugRelatedField(
        slug_field="code", queryset=Crew.objects.all(), required=False
    )
    on = serializers.DateField(required=False)
    minutes = serializers.IntegerField(min_value=1, max_value=1440, required=False)
    serial = serializers.SlugRelatedField(
        slug_field="serial", queryset=Equipment.objects.filter(kind="packer"), required=False
    )
    repair = serializers.PrimaryKeyRelatedField(queryset=Repair.objects.all(), required=False)
    sites = serializers.ListField(
        child=serializers.PrimaryKeyRelatedField(queryset=Site.objects.all()),
        required=False,
        max_length=500,
    )
    low_flow = serializers.BooleanField(required=False)
    price = serializers.ChoiceField(PRICE_NAMES, required=False)
    value = serializers.IntegerField(min_value=0, max_value=10**8, required=False)


class WhatIfIn(SearchIn):
    """What is supposed beside the plan's own suppositions; nothing is fine: planned anew."""

    changes = serializers.ListField(child=ChangeIn(), max_length=MOST_CHANGES, required=False)


_PLAIN: tuple[str, ...] = ("on", "minutes", "low_flow", "price", "value")


def suppositions(rows: list[dict[str, Any]]) -> tuple[WhatIf, ...]:
    """Return what was sent as suppositions; each field that does not belong is named."""
    faults = [
        Fault(f"changes[{n}].{fault.field}", fault.found, fault.expected)
        for n, row in enumerate(rows)
        for fault in supposition_faults(Supposition(row["kind"]), set(row) - {"kind"})
    ]
    if faults:
        raise malformed(*faults)
    return tuple(_supposition(row) for row in rows)


def _supposition(row: dict[str, Any]) -> WhatIf:
    plain: dict[str, Any] = {}
    for name in _PLAIN:
        if name in row:
            plain[name] = row[name]
    if "crew" in row:
        plain["crew"] = row["crew"].code
    if "serial" in row:
        plain["serial"] = row["serial"].serial
    if "repair" in row:
        plain["repair"] = str(row["repair"].pk)
    if "sites" in row:
        plain["sites"] = tuple(str(site.pk) for site in row["sites"])
    return WhatIf(kind=Supposition(row["kind"]), **plain)


class MoveIn(StrictSerializer):
    """Where a repair goes; without a crew nowhere, without a number where it costs the least."""

    repair = serializers.PrimaryKeyRelatedField(queryset=Repair.objects.all())
    crew = serializers.SlugRelatedField(
        slug_field="code",
        queryset=Crew.objects.all(),
        required=False,
        allow_null=True,
        default=None,
    )
    on = serializers.DateField(required=False, allow_null=True, default=None)
    number = serializers.IntegerField(
        min_value=1, max_value=200, required=False, allow_null=True, default=None
    )
    instead_of = serializers.PrimaryKeyRelatedField(
        queryset=Repair.objects.all(), required=False, allow_null=True, default=None
    )
    label = serializers.CharField(  # type: ignore[assignment]
        max_length=100, allow_blank=True, default=""
    )
    pin = serializers.BooleanField(default=False)


class PlanRunOut(serializers.Serializer):
    """The making of a plan, for whoever watches."""

    id = serializers.UUIDField()
    state = serializers.CharField()
    percent = serializers.IntegerField()
    said = serializers.CharField()
    starts_on = serializers.DateField()
    days = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]
    derived_from = serializers.UUIDField(source="derived_from_id", allow_null=True)
    asked_by = serializers.CharField(source="asked_by.display_name")
    asked_at = serializers.DateTimeField()
    cancel_asked_at = serializers.DateTimeField(allow_null=True)
    finished_at = serializers.DateTimeField(allow_null=True)
    plan = serializers.UUIDField(source="plan_id", allow_null=True)


class PlanOut(serializers.Serializer):
    """A plan with its figures, without its stops."""

    id = serializers.UUIDField()
    starts_on = serializers.DateField()
    days = serializers.IntegerField()
    zone = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    state = serializers.CharField()
    method = serializers.CharField()
    engine = serializers.CharField()
    seed = serializers.IntegerField()
    travel_source = serializers.CharField()
    figures = serializers.JSONField()
    derived_from = serializers.UUIDField(source="derived_from_id", allow_null=True)
    planned_at = serializers.DateTimeField()
    planned_by = serializers.CharField(source="planned_by.display_name")
    published_at = serializers.DateTimeField(allow_null=True)
    published_by = serializers.CharField(source="published_by.display_name", default=None)


class StopOut(serializers.Serializer):
    """A repair on a crew's day; `slack_s` is how much later the crew may arrive."""

    repair = serializers.UUIDField(source="repair_id")
    name = serializers.CharField()
    street = serializers.CharField(source="repair.run.site.street")
    crew = serializers.CharField(source="crew.code")
    on = serializers.DateField()
    number = serializers.IntegerField()
    arrives_at = serializers.DateTimeField()
    starts_at = serializers.DateTimeField()
    ends_at = serializers.DateTimeField()
    slack_s = serializers.IntegerField()
    beside = serializers.SerializerMethodField()
    numbers = serializers.JSONField()

    def get_beside(self, row: PlanStop) -> UUID | None:
        """Return the repair in whose cure this one is set up."""
        return None if row.beside is None else row.beside.repair_id


class LeftOutOut(serializers.Serializer):
    """A repair without a place, with its reasons."""

    repair = serializers.UUIDField(source="repair_id")
    name = serializers.CharField()
    code = serializers.CharField()
    words = serializers.CharField()
    counted = serializers.JSONField()
    closest = serializers.JSONField(allow_null=True)
    ways_in = serializers.JSONField()


class PlanWholeOut(PlanOut):
    """A plan with its stops, what it leaves out and refuses, and what it changes."""

    changes = serializers.JSONField()
    supposed = serializers.SerializerMethodField()
    weights = serializers.JSONField()
    words = serializers.CharField()
    inputs_hash = serializers.CharField()
    trace = serializers.JSONField()
    stops = serializers.SerializerMethodField()
    left_out = serializers.SerializerMethodField()
    refused = serializers.SerializerMethodField()
    crews_left_out = serializers.JSONField()
    differences = serializers.JSONField()

    def get_supposed(self, row: Plan) -> list[str]:
        """Return what is supposed, in words."""
        return [words_of(each) for each in supposed_from(row.changes).those]

    def get_stops(self, row: Plan) -> Any:
        """Return the stops, day by day, crew by crew, in their order."""
        stops = row.stops.select_related("crew", "repair__run__site", "beside")
        return StopOut(stops, many=True).data

    def get_left_out(self, row: Plan) -> Any:
        """Return the repairs that had no room, or at a higher price only."""
        return LeftOutOut(row.left_out.filter(refused=False), many=True).data

    def get_refused(self, row: Plan) -> Any:
        """Return the repairs that no plan could hold."""
        return LeftOutOut(row.left_out.filter(refused=True), many=True).data
