"""Links to packages and legal holds."""

from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from qa.keeping import kept_for
from qa.models import LegalHold, PackageLink
from qa.selectors import visible_links, visible_orders, visible_packages
from qa.services.hold_records import lift_hold, set_hold
from qa.services.share_package import LONGEST_H, address_of, call_back, share_package
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.roles import OFFICE, Role

_SHARERS = (OFFICE - {Role.SERVICE}) | {Role.CLIENT}
_HOLDERS = frozenset({Role.REVIEWER, Role.ADMINISTRATOR})


class LinkIn(StrictSerializer):
    """How long the link holds."""

    hours = serializers.IntegerField(min_value=1, max_value=LONGEST_H, default=72)


class LinkOut(serializers.Serializer):
    """A link; its address is told to whoever may see the package."""

    id = serializers.UUIDField()
    address = serializers.SerializerMethodField()
    made_by = serializers.CharField(
        source="made_by.display_name",
        default=None,
        allow_null=True,
        help_text="who asked for it; null where it went out with the message that all is ready",
    )
    sent_to = serializers.CharField(
        source="sent_to.display_name",
        default=None,
        allow_null=True,
        help_text="whose message holds it, or null",
    )
    expires_at = serializers.DateTimeField()
    called_back_at = serializers.DateTimeField(allow_null=True)
    fetched = serializers.IntegerField()
    last_fetched_at = serializers.DateTimeField(allow_null=True)

    def get_address(self, row: PackageLink) -> str:
        """Return where it leads."""
        return address_of(row)


class KeptOut(serializers.Serializer):
    """How long a package is kept, and what holds it."""

    until = serializers.DateField(allow_null=True)
    held = serializers.ListField(child=serializers.CharField())
    words = serializers.CharField()


class HoldIn(StrictSerializer):
    """Why."""

    reason = serializers.CharField(max_length=2000)


class HoldOut(serializers.Serializer):
    """A legal hold."""

    id = serializers.UUIDField()
    work_order = serializers.CharField(source="work_order.number")
    reason = serializers.CharField()
    set_by = serializers.CharField(source="set_by.display_name")
    set_at = serializers.DateTimeField()
    lifted_at = serializers.DateTimeField(allow_null=True)
    lifted_reason = serializers.CharField()


class LinkListView(KnownQuestions, APIView):
    """Links to a package."""

    doors: Doors = {"GET": _SHARERS, "POST": _SHARERS}

    @extend_schema(responses=LinkOut(many=True))
    def get(self, request: Request, package_id: UUID) -> Response:
        """Return all links, those that ended among them."""
        package = get_object_or_404(visible_packages(caller(request)), pk=package_id)
        rows = visible_links(caller(request)).filter(package=package)
        return Response(LinkOut(rows.order_by("made_at"), many=True).data)

    @extend_schema(request=LinkIn, responses={201: LinkOut})
    def post(self, request: Request, package_id: UUID) -> Response:
        """Make a link that ends by itself: whoever has it fetches the package, nothing else."""
        package = get_object_or_404(visible_packages(caller(request)), pk=package_id)
        sent = read(LinkIn, request)
        row = share_package(package=package, **sent, by=caller(request), now=timezone.now())
        return Response(LinkOut(row).data, status=201)


class LinkCallBackView(APIView):
    """Call a link back."""

    doors: Doors = {"POST": _SHARERS}

    @extend_schema(request=None, responses=LinkOut)
    def post(self, request: Request, link_id: UUID) -> Response:
        """End it now."""
        row = get_object_or_404(visible_links(caller(request)), pk=link_id)
        return Response(LinkOut(call_back(link=row, now=timezone.now())).data)


class KeptView(KnownQuestions, APIView):
    """How long a package is kept."""

    doors: Doors = {"GET": OFFICE | {Role.CLIENT}}

    @extend_schema(responses=KeptOut)
    def get(self, request: Request, package_id: UUID) -> Response:
        """Return until when by the contract, and what holds it; a client is not told why."""
        package = get_object_or_404(visible_packages(caller(request)), pk=package_id)
        return Response(KeptOut(kept_for(caller(request), package)).data)


class HoldListView(KnownQuestions, APIView):
    """Legal holds of an order."""

    doors: Doors = {"GET": OFFICE, "POST": _HOLDERS}

    @extend_schema(responses=HoldOut(many=True))
    def get(self, request: Request, order_id: UUID) -> Response:
        """Return all of them, those lifted among them."""
        order = get_object_or_404(visible_orders(caller(request)), pk=order_id)
        rows = LegalHold.objects.filter(work_order=order).order_by("set_at")
        return Response(HoldOut(rows.select_related("work_order", "set_by"), many=True).data)

    @extend_schema(request=HoldIn, responses={201: HoldOut})
    def post(self, request: Request, order_id: UUID) -> Response:
        """Hold everything of the order until the hold is lifted."""
        order = get_object_or_404(visible_orders(caller(request)), pk=order_id)
        row = set_hold(
            work_order=order, **read(HoldIn, request), by=caller(request), now=timezone.now()
        )
        return Response(HoldOut(row).data, status=201)


class HoldLiftView(APIView):
    """Lift a legal hold."""

    doors: Doors = {"POST": _HOLDERS}

    @extend_schema(request=HoldIn, responses=HoldOut)
    def post(self, request: Request, hold_id: UUID) -> Response:
        """Lift it, with a reason."""
        row = get_object_or_404(LegalHold, pk=hold_id)
        sent = read(HoldIn, request)
        done = lift_hold(hold=row, **sent, by=caller(request), now=timezone.now())
        return Response(HoldOut(done).data)
