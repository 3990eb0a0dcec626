"""Crews, their people, qualifications, gear and kits."""

from typing import Any
from uuid import UUID
from zoneinfo import available_timezones

from django.db import transaction
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.models import Crew, CrewMember, Equipment, KitStock, Lot, Qualification
from dispatch.services.add_record import add_record
from dispatch.services.truck_changed import truck_changed
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.quantities import QuantityField
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import CREW, OFFICE, Role
from repairs.domain.units import Dimension
from repairs.models import Account, KitType

KEEP = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})
DOORS: Doors = {"GET": OFFICE, "POST": KEEP}
PUT_DOORS: Doors = {"POST": KEEP}


class MemberOut(serializers.Serializer):
    """A person of a crew with what they may do."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    lead = serializers.BooleanField()
    account = serializers.CharField(source="account.username", default=None)
    qualifications = serializers.SerializerMethodField()

    def get_qualifications(self, row: CrewMember) -> list[dict[str, str]]:
        """Return kind and end of each qualification."""
        return [
            {"kind": each.kind, "expires_on": each.expires_on.isoformat()}
            for each in row.qualifications.all()
        ]


class CrewOut(serializers.Serializer):
    """A crew."""

    id = serializers.UUIDField()
    code = serializers.CharField()
    name = serializers.CharField()
    time_zone = serializers.CharField()
    members = MemberOut(many=True)
    equipment = serializers.SerializerMethodField()
    kits = serializers.SerializerMethodField()

    def get_equipment(self, row: Crew) -> list[dict[str, Any]]:
        """Return the gear on the truck."""
        return [
            {
                "id": str(each.pk),
                "kind": each.kind,
                "serial": each.serial,
                "test_due_on": each.test_due_on.isoformat(),
                "out_of_use": each.out_of_use,
            }
            for each in row.equipment.all()
        ]

    def get_kits(self, row: Crew) -> list[dict[str, Any]]:
        """Return the kits on the truck, earliest expiry first."""
        stock = sorted(row.kit_stock.all(), key=lambda each: each.lot.expires_on)
        return [
            {
                "lot": each.lot.number,
                "kit_type": each.lot.kit_type.code,
                "expires_on": each.lot.expires_on.isoformat(),
                "quantity": each.quantity,
            }
            for each in stock
        ]


class CrewIn(StrictSerializer):
    """A new crew."""

    code = serializers.RegexField(r"^[A-Za-z0-9-]{1,30}$")
    name = serializers.CharField(max_length=100)
    time_zone = serializers.CharField()

    def validate_time_zone(self, value: str) -> str:
        """Refuse what is not an IANA zone."""
        if value not in available_timezones():
            raise serializers.ValidationError("expected an IANA time zone such as CET.")
        return value


class MemberIn(StrictSerializer):
    """A new member; with `account` they may post the crew's work."""

    name = serializers.CharField(max_length=150)
    lead = serializers.BooleanField(default=False)
    account = serializers.SlugRelatedField(
        slug_field="username",
        queryset=Account.objects.filter(role__in=[role.value for role in CREW]),
        required=False,
        allow_null=True,
        default=None,
    )


class QualificationIn(StrictSerializer):
    """A certificate of a member."""

    kind = serializers.CharField(max_length=60)
    reference = serializers.CharField(max_length=100, allow_blank=True, default="")
    expires_on = serializers.DateField()


class EquipmentIn(StrictSerializer):
    """Gear on the truck."""

    kind = serializers.ChoiceField(["packer", "camera", "gauge", "gas meter", "other"])
    serial = serializers.CharField(max_length=60)
    diameter_min = QuantityField(
        Dimension.DIAMETER, low=1, source="diameter_min_mm", required=False, allow_null=True
    )
    diameter_max = QuantityField(
        Dimension.DIAMETER, low=1, source="diameter_max_mm", required=False, allow_null=True
    )
    length = QuantityField(
        Dimension.LENGTH, low=0.1, source="length_m", required=False, allow_null=True
    )
    limit = QuantityField(
        Dimension.PRESSURE, low=1, source="limit_kpa", required=False, allow_null=True
    )
    test_due_on = serializers.DateField()


class LotIn(StrictSerializer):
    """A lot of kits."""

    number = serializers.CharField(max_length=60)
    kit_type = serializers.SlugRelatedField(slug_field="code", queryset=KitType.objects.all())
    resin_lot_a = serializers.CharField(max_length=60)
    resin_lot_b = serializers.CharField(max_length=60)
    expires_on = serializers.DateField()


class LotOut(serializers.Serializer):
    """A lot of kits."""

    id = serializers.UUIDField()
    number = serializers.CharField()
    kit_type = serializers.CharField(source="kit_type.code")
    resin_lot_a = serializers.CharField()
    resin_lot_b = serializers.CharField()
    expires_on = serializers.DateField()


class StockIn(StrictSerializer):
    """Kits of a lot put on the truck; the count replaces the earlier one."""

    lot = serializers.SlugRelatedField(slug_field="number", queryset=Lot.objects.all())
    quantity = serializers.IntegerField(min_value=0, max_value=10_000)


class CrewListView(KnownQuestions, ListAPIView):
    """Crews with all that is on the truck."""

    doors = DOORS
    serializer_class = CrewOut

    def get_queryset(self) -> QuerySet[Crew]:
        """Return all crews."""
        return Crew.objects.prefetch_related(
            "members__qualifications", "members__account", "equipment", "kit_stock__lot__kit_type"
        )

    @extend_schema(request=CrewIn, responses={201: CrewOut})
    def post(self, request: Request) -> Response:
        """Add a crew."""
        values, by = read(CrewIn, request), caller(request)
        row = add_record(model=Crew, values=values, key="code", by=by, now=timezone.now())
        return Response(CrewOut(row).data, status=201)


class MemberListView(APIView):
    """The people of a crew."""

    doors = PUT_DOORS

    @extend_schema(request=MemberIn, responses={201: MemberOut})
    def post(self, request: Request, crew_id: UUID) -> Response:
        """Add a member."""
        crew = get_object_or_404(Crew, pk=crew_id)
        values, by = {"crew": crew, **read(MemberIn, request)}, caller(request)
        row = add_record(model=CrewMember, values=values, key="account", by=by, now=timezone.now())
        return Response(MemberOut(row).data, status=201)


class QualificationListView(APIView):
    """The qualifications of a member."""

    doors = PUT_DOORS

    @extend_schema(request=QualificationIn, responses={201: MemberOut})
    def post(self, request: Request, member_id: UUID) -> Response:
        """Add a qualification."""
        member = get_object_or_404(CrewMember, pk=member_id)
        values = {"member": member, **read(QualificationIn, request)}
        add_record(
            model=Qualification,
            values=values,
            key="kind",
            by=caller(request),
            now=timezone.now(),
            truck=member.crew_id,
        )
        return Response(MemberOut(member).data, status=201)


class EquipmentListView(APIView):
    """The gear of a crew."""

    doors = PUT_DOORS

    @extend_schema(request=EquipmentIn, responses={201: CrewOut})
    def post(self, request: Request, crew_id: UUID) -> Response:
        """Add gear."""
        crew = get_object_or_404(Crew, pk=crew_id)
        values = {"crew": crew, **read(EquipmentIn, request)}
        add_record(
            model=Equipment,
            values=values,
            key="serial",
            by=caller(request),
            now=timezone.now(),
            truck=crew.pk,
        )
        return Response(CrewOut(crew).data, status=201)


class StockListView(APIView):
    """The kits on a truck."""

    doors = PUT_DOORS

    @extend_schema(request=StockIn, responses={201: CrewOut})
    def post(self, request: Request, crew_id: UUID) -> Response:
        """Say how many kits of a lot are on the truck."""
        crew = get_object_or_404(Crew, pk=crew_id)
        sent, now = read(StockIn, request), timezone.now()
        with transaction.atomic():
            KitStock.objects.update_or_create(
                crew=crew,
                lot=sent["lot"],
                defaults={"quantity": sent["quantity"], "counted_at": now},
            )
            truck_changed(crew_id=crew.pk, now=now)
        return Response(CrewOut(crew).data, status=201)


class LotListView(KnownQuestions, ListAPIView):
    """Lots of kits."""

    doors = DOORS
    queryset = Lot.objects.select_related("kit_type")
    serializer_class = LotOut

    @extend_schema(request=LotIn, responses={201: LotOut})
    def post(self, request: Request) -> Response:
        """Add a lot."""
        values, by = read(LotIn, request), caller(request)
        row = add_record(model=Lot, values=values, key="number", by=by, now=timezone.now())
        return Response(LotOut(row).data, status=201)
