"""Plans: asked for, read, changed by supposition or by hand, and published."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.api.plan_bodies import (
    MoveIn,
    PlanIn,
    PlanOut,
    PlanRunOut,
    PlanWholeOut,
    WhatIfIn,
    suppositions,
)
from dispatch.models import Plan, PlanRun
from dispatch.services.plan_ask import ask_for_plan, cancel_run
from dispatch.services.plan_by_hand import Put, move_stop
from dispatch.services.plan_publish import publish_plan
from dispatch.services.plan_what_if import make_what_if
from repairs.api.caller import caller
from repairs.api.doors import Doors
from repairs.api.paging import CursorPages
from repairs.api.questions import KnownQuestions
from repairs.api.strict import read
from repairs.domain.roles import Role

READERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})
PLANNERS = frozenset({Role.DISPATCHER})


def example(value: dict[str, Any], name: str = "example") -> OpenApiExample:
    """Return an example of a body that is sent."""
    return OpenApiExample(name, value=value, request_only=True)


ASKED = example({"starts_on": "2026-11-30", "days": 5, "label": "the week", "search_s": 20})
SUPPOSED = [
    example(
        {"changes": [{"kind": "crew late", "crew": "NORTH", "on": "2026-11-30", "minutes": 45}]},
        "a crew is late",
    ),
    example({"changes": [{"kind": "packer out", "serial": "PK-NORTH"}]}, "a packer broke"),
    example(
        {"changes": [{"kind": "no work", "on": "2026-12-01", "low_flow": True}]}, "it will rain"
    ),
    example({"changes": [{"kind": "price", "price": "change_s", "value": 7200}]}, "a calm plan"),
]
MOVED = example(
    {
        "repair": "00000000-0000-4000-8000-000000000001",
        "crew": "SOUTH",
        "on": "2026-12-01",
        "number": 2,
    }
)


class NewestFirst(CursorPages):
    """The plan made last comes first."""

    ordering = ("-planned_at", "-id")


class RunsNewestFirst(CursorPages):
    """What was asked for last comes first."""

    ordering = ("-asked_at", "-id")


class PlanListView(KnownQuestions, ListAPIView):
    """Plans, and the way to ask for one."""

    doors: Doors = {"GET": READERS, "POST": PLANNERS}
    serializer_class = PlanOut
    pagination_class = NewestFirst

    def get_queryset(self) -> QuerySet[Plan]:
        """Return all plans, without the weight of their problems."""
        return Plan.objects.select_related("planned_by", "published_by").defer("problem")

    @extend_schema(request=PlanIn, responses={202: PlanRunOut}, examples=[ASKED])
    def post(self, request: Request) -> Response:
        """Have a plan made; the answer is the run to watch."""
        sent = read(PlanIn, request)
        run = ask_for_plan(**sent, by=caller(request), now=timezone.now())
        return Response(PlanRunOut(run).data, status=202)


class PlanView(APIView):
    """One plan."""

    doors: Doors = {"GET": READERS}

    @extend_schema(responses=PlanWholeOut)
    def get(self, _request: Request, plan_id: UUID) -> Response:
        """Return it with stops, slack, reasons, ways in, and what it changes."""
        plan = get_object_or_404(Plan.objects.defer("problem"), pk=plan_id)
        return Response(PlanWholeOut(plan).data)


class WhatIfView(APIView):
    """A plan made from another one, with something supposed."""

    doors: Doors = {"POST": PLANNERS}

    @extend_schema(request=WhatIfIn, responses={202: PlanRunOut}, examples=SUPPOSED)
    def post(self, request: Request, plan_id: UUID) -> Response:
        """Have it made; nobody is sent before it is published."""
        plan = get_object_or_404(Plan, pk=plan_id)
        sent = read(WhatIfIn, request)
        changes = suppositions(sent.pop("changes", []))
        run = make_what_if(
            plan=plan, changes=changes, by=caller(request), now=timezone.now(), **sent
        )
        return Response(PlanRunOut(run).data, status=202)


class MoveView(APIView):
    """A stop put elsewhere by hand."""

    doors: Doors = {"POST": PLANNERS}

    @extend_schema(request=MoveIn, responses={201: PlanWholeOut}, examples=[MOVED])
    def post(self, request: Request, plan_id: UUID) -> Response:
        """Return the new draft, or every reason against it; with `pin` it is pinned there, too."""
        plan = get_object_or_404(Plan, pk=plan_id)
        sent = read(MoveIn, request)
        repair, label = sent.pop("repair"), sent.pop("label")
        draft = move_stop(
            plan=plan,
            repair=repair,
            put=Put(**sent),
            by=caller(request),
            now=timezone.now(),
            label=label,
        )
        return Response(PlanWholeOut(draft).data, status=201)


class PublishView(APIView):
    """Sends the crews by a plan."""

    doors: Doors = {"POST": PLANNERS}

    @extend_schema(request=None, responses=PlanOut)
    def post(self, request: Request, plan_id: UUID) -> Response:
        """Publish it whole, or answer with every reason against it; twice is a no-op."""
        plan = get_object_or_404(Plan, pk=plan_id)
        done = publish_plan(plan=plan, by=caller(request), now=timezone.now())
        return Response(PlanOut(done).data)


class PlanRunListView(KnownQuestions, ListAPIView):
    """What was asked for, the newest first."""

    doors: Doors = {"GET": READERS}
    serializer_class = PlanRunOut
    pagination_class = RunsNewestFirst
    queryset = PlanRun.objects.select_related("asked_by")


class PlanRunView(APIView):
    """One run, to be watched."""

    doors: Doors = {"GET": READERS}

    @extend_schema(responses=PlanRunOut)
    def get(self, _request: Request, plan_run_id: UUID) -> Response:
        """Return how far it is."""
        return Response(PlanRunOut(get_object_or_404(PlanRun, pk=plan_run_id)).data)


class CancelPlanRunView(APIView):
    """Calls a run off."""

    doors: Doors = {"POST": PLANNERS}

    @extend_schema(request=None, responses=PlanRunOut)
    def post(self, _request: Request, plan_run_id: UUID) -> Response:
        """End it within about a second; the best plan so far is kept."""
        run = get_object_or_404(PlanRun, pk=plan_run_id)
        return Response(PlanRunOut(cancel_run(run=run, now=timezone.now())).data)
