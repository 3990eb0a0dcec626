"""Customers, sites, access points and runs: read by those they belong to, entered by the office."""

from typing import Any
from uuid import UUID
from zoneinfo import available_timezones

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from repairs.api.caller import caller
from repairs.api.corrections import CORRECTORS, OrderedRunOut, RunChange
from repairs.api.doors import Doors
from repairs.api.editions import IF_MATCH, answer, editions_seen
from repairs.api.quantities import QuantityField
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import Fault, Refused
from repairs.domain.roles import OFFICE, Role
from repairs.domain.units import Dimension
from repairs.models import Account, Customer, Run, Site
from repairs.services.correct_order import correct_run, run_edition

READERS: Doors = {
    "GET": OFFICE | {Role.CLIENT},
    "POST": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR, Role.SERVICE}),
}


class CustomerOut(serializers.Serializer):
    """A customer."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    name = serializers.CharField()
    contact_email = serializers.CharField()


class CustomerIn(StrictSerializer):
    """A new customer."""

    code = serializers.RegexField(r"^[A-Za-z0-9-]{1,30}$")
    name = serializers.CharField(max_length=200)
    contact_email = serializers.EmailField(required=False, allow_blank=True, default="")


class AccessPointOut(serializers.Serializer):
    """An access point with its position in WGS 84."""

    id = serializers.UUIDField()
    ref = serializers.CharField()
    latitude = serializers.FloatField()
    longitude = serializers.FloatField()


class SiteOut(serializers.Serializer):
    """A site with its access points."""

    id = serializers.UUIDField()
    customer = serializers.CharField(source="customer.code")
    ref = serializers.CharField()
    street = serializers.CharField()
    time_zone = serializers.CharField()
    access_points = AccessPointOut(many=True)


class SiteIn(StrictSerializer):
    """A new site."""

    customer = serializers.SlugRelatedField(slug_field="code", queryset=Customer.objects.all())
    ref = serializers.CharField(max_length=60)
    street = serializers.CharField(max_length=200, allow_blank=True, default="")
    time_zone = serializers.CharField()

    def validate_time_zone(self, value: str) -> str:
        """Refuse what is not an IANA zone."""
        if value not in available_timezones():
            raise serializers.ValidationError("expected an IANA time zone such as CET.")
        return value


class RunOut(serializers.Serializer):
    """A pipe run."""

    id = serializers.UUIDField()
    site = serializers.CharField(source="site.ref")
    customer = serializers.CharField(source="site.customer.code")
    ref = serializers.CharField()
    upstream = serializers.CharField(source="upstream.ref")
    downstream = serializers.CharField(source="downstream.ref")
    diameter = QuantityField(Dimension.DIAMETER, source="diameter_mm")
    material = serializers.CharField()
    length = QuantityField(Dimension.LENGTH, source="length_m")
    depth = QuantityField(Dimension.LENGTH, source="depth_m", allow_null=True)
    groundwater_above_invert = QuantityField(
        Dimension.LENGTH, source="groundwater_above_invert_m", allow_null=True
    )


class CustomerListView(KnownQuestions, ListAPIView):
    """Customers: the office's list, or the client's own."""

    doors = READERS
    serializer_class = CustomerOut

    def get_queryset(self) -> QuerySet[Customer]:
        """Return the customers the account may see."""
        return _own(Customer.objects.all(), caller(self.request), "id")

    @extend_schema(request=CustomerIn, responses={201: CustomerOut})
    def post(self, request: Request) -> Response:
        """Add a customer."""
        return _add(Customer, read(CustomerIn, request), CustomerOut, "code")


class SiteListView(KnownQuestions, ListAPIView):
    """Sites with their access points."""

    doors = READERS
    serializer_class = SiteOut

    def get_queryset(self) -> QuerySet[Site]:
        """Return the sites the account may see."""
        rows = Site.objects.select_related("customer").prefetch_related("access_points")
        return _own(rows, caller(self.request), "customer")

    @extend_schema(request=SiteIn, responses={201: SiteOut})
    def post(self, request: Request) -> Response:
        """Add a site."""
        return _add(Site, read(SiteIn, request), SiteOut, "ref")


class RunListView(KnownQuestions, ListAPIView):
    """Pipe runs; they are entered with an order."""

    doors: Doors = {"GET": OFFICE | {Role.CLIENT}}
    serializer_class = RunOut

    def get_queryset(self) -> QuerySet[Run]:
        """Return the runs the account may see."""
        return _visible_runs(caller(self.request))


class RunDetailOut(RunOut, OrderedRunOut):
    """A pipe run with all that may be corrected."""


class RunView(APIView):
    """One pipe run."""

    doors: Doors = {"GET": OFFICE | {Role.CLIENT}, "PATCH": CORRECTORS}

    @extend_schema(operation_id="runs_retrieve", responses=RunDetailOut)
    def get(self, request: Request, run_id: UUID) -> Response:
        """Return the run; its ETag names the edition."""
        return _run(get_object_or_404(_visible_runs(caller(request)), pk=run_id))

    @extend_schema(request=RunChange, responses=RunDetailOut, parameters=[IF_MATCH])
    def patch(self, request: Request, run_id: UUID) -> Response:
        """Correct it while no work has begun on any of its repairs."""
        row = get_object_or_404(_visible_runs(caller(request)), pk=run_id)
        return _run(
            correct_run(
                run=row,
                changes=read(RunChange, request),
                seen=editions_seen(request),
                by=caller(request),
                now=timezone.now(),
            )
        )


def _run(row: Run) -> Response:
    return answer(RunDetailOut(row).data, run_edition(row))


def _visible_runs(account: Account) -> QuerySet[Run]:
    rows = Run.objects.select_related("site__customer", "upstream", "downstream")
    return _own(rows, account, "site__customer")


def _own(rows: QuerySet[Any], account: Account, path: str) -> QuerySet[Any]:
    if account.role == Role.CLIENT:
        return rows.filter(**{path: account.customer_id})
    return rows


def _add(
    model: Any, values: dict[str, Any], out: type[serializers.Serializer], key: str
) -> Response:
    try:
        with transaction.atomic():
            row = model.objects.create(**values)
    except IntegrityError as error:
        found = str(values[key])
        raise Refused(
            "already_there",
            f"{key}: {found!r} is already there.",
            faults=[Fault(key, found, "one that is not there yet")],
        ) from error
    return Response(out(row).data, status=201)
