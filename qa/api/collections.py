"""Packages of a whole order or month: asked for, watched, fetched."""

from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from qa.api.whose import refuse_unclear
from qa.domain.months import MONTH, month_read
from qa.downloads import download
from qa.models import CollectedPackage
from qa.sealed_files import package_path
from qa.selectors import visible_collections, visible_customers, visible_orders
from qa.services.collect import collect_month, collect_order, collecting_percent
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import Refused
from repairs.domain.roles import OFFICE, Role

_KEEPERS = OFFICE | {Role.CLIENT}


class CollectionIn(StrictSerializer):
    """A work order, or a customer and a month."""

    work_order = serializers.UUIDField(required=False)
    customer = serializers.CharField(required=False, max_length=30)
    month = serializers.RegexField(
        MONTH, required=False, error_messages={"invalid": "expected a month such as 2031-03"}
    )


class CollectionOut(serializers.Serializer):
    """A collected package; `progress_percent` tells how far it is built."""

    id = serializers.UUIDField()
    of = serializers.CharField(source="members.of")
    customer = serializers.CharField(source="customer.code")
    packages = serializers.SerializerMethodField()
    not_closed = serializers.ListField(source="members.not_closed", child=serializers.CharField())
    file_name = serializers.CharField()
    sha256 = serializers.CharField()
    size_bytes = serializers.IntegerField(allow_null=True)
    requested_at = serializers.DateTimeField()
    ready_at = serializers.DateTimeField(allow_null=True)
    progress_percent = serializers.SerializerMethodField()

    def get_packages(self, row: CollectedPackage) -> int:
        """Return how many packages are in it."""
        return len(row.members["packages"])

    def get_progress_percent(self, row: CollectedPackage) -> int:
        """Return how far the building has come."""
        return collecting_percent(row)


class CollectionPages(CursorPages):
    """Oldest first."""

    ordering = ("requested_at", "id")


class CollectionListView(KnownQuestions, ListAPIView):
    """Collected packages."""

    doors: Doors = {"GET": _KEEPERS, "POST": _KEEPERS}
    serializer_class = CollectionOut
    pagination_class = CollectionPages

    def get_queryset(self) -> QuerySet[CollectedPackage]:
        """Return those the account may see."""
        return visible_collections(caller(self.request))

    @extend_schema(request=CollectionIn, responses={201: CollectionOut})
    def post(self, request: Request) -> Response:
        """Ask for one package of all that is closed of an order, or of a customer in a month."""
        sent, account, now = read(CollectionIn, request), caller(request), timezone.now()
        refuse_unclear(sent)
        if sent.get("work_order") is None:
            customer = get_object_or_404(visible_customers(account), code=sent["customer"])
            month = month_read(sent["month"])
            row = collect_month(customer=customer, month=month, by=account, now=now)
        else:
            order = get_object_or_404(visible_orders(account), pk=sent["work_order"])
            row = collect_order(work_order=order, by=account, now=now)
        return Response(CollectionOut(row).data, status=201)


class CollectionView(APIView):
    """One collected package."""

    doors: Doors = {"GET": _KEEPERS}

    @extend_schema(responses=CollectionOut)
    def get(self, request: Request, collection_id: UUID) -> Response:
        """Return what is known of it."""
        row = get_object_or_404(visible_collections(caller(request)), pk=collection_id)
        return Response(CollectionOut(row).data)


class CollectionFileView(APIView):
    """The zip itself."""

    doors: Doors = {"GET": _KEEPERS}

    @extend_schema(responses={(200, "application/zip"): OpenApiTypes.BINARY})
    def get(self, request: Request, collection_id: UUID) -> HttpResponseBase:
        """Return the bytes once they are there."""
        row = get_object_or_404(visible_collections(caller(request)), pk=collection_id)
        if row.ready_at is None:
            raise Refused(
                "not_ready",
                "The package is still being built; ask again in a moment.",
                more={"progress_percent": collecting_percent(row)},
            )
        return download(
            package_path(row.storage_key),
            file_name=row.file_name,
            sha256=row.sha256,
            asked=request.headers.get("Range", ""),
            if_range=request.headers.get("If-Range", ""),
        )
