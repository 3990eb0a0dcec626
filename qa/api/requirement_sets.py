"""Requirement sets: a contract's limits, fitness rules and requirements, by version."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from dispatch.domain.escalation import escalation_faults
from dispatch.domain.terms import term_faults
from qa.domain.contract_check import contradictions, remarks
from qa.domain.contract_difference import compare
from qa.domain.pay import pay_faults
from qa.domain.requirement import requirement_faults
from qa.example_sets import example_sets
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import Fault, malformed, shown
from repairs.domain.roles import OFFICE, Role
from repairs.models import RequirementSet
from repairs.services.requirement_sets import add_requirement_set, contract_faults

_WRITERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})


class RequirementSetBody(StrictSerializer):
    """One version of a contract's rules."""

    id = serializers.UUIDField(read_only=True)
    name = serializers.CharField(max_length=100)
    version = serializers.IntegerField(min_value=1, max_value=100_000)
    limits = serializers.DictField()
    fitness_rules = serializers.ListField(child=serializers.DictField(), max_length=200)
    requirements = serializers.ListField(child=serializers.DictField(), max_length=200)
    qualifications = serializers.ListField(
        child=serializers.CharField(max_length=60), default=list, max_length=50
    )
    escalation = serializers.DictField(default=dict)
    terms = serializers.DictField(default=dict)
    pay = serializers.ListField(child=serializers.DictField(), default=list, max_length=50)
    accepts_as_is = serializers.ListField(
        child=serializers.CharField(max_length=100), default=list, max_length=20
    )
    note = serializers.CharField(allow_blank=True, default="", max_length=5000)


class CheckedOut(serializers.Serializer):
    """What a check found: nothing is stored."""

    usable = serializers.BooleanField()
    faults = serializers.ListField(child=serializers.DictField())
    remarks = serializers.ListField(child=serializers.CharField())


class DifferenceOut(serializers.Serializer):
    """One thing that differs between two versions."""

    part = serializers.CharField()
    name = serializers.CharField()
    before = serializers.JSONField(allow_null=True)
    after = serializers.JSONField(allow_null=True)
    words = serializers.CharField()


class RequirementSetListView(KnownQuestions, ListAPIView):
    """Requirement sets."""

    doors: Doors = {"GET": OFFICE, "POST": _WRITERS}
    queryset = RequirementSet.objects.all()
    serializer_class = RequirementSetBody

    @extend_schema(request=RequirementSetBody, responses={201: RequirementSetBody})
    def post(self, request: Request) -> Response:
        """Add a version; one that is there is never changed, one that contradicts itself refused.

        To copy one: read it, change name or version and what you like, and post it.
        """
        sent = read(RequirementSetBody, request)
        if faults := _faults(sent):
            raise malformed(*faults)
        row = add_requirement_set(**sent)
        return Response(RequirementSetBody(row).data, status=201)


class RequirementSetCheckView(APIView):
    """Check a set before it is used."""

    doors: Doors = {"POST": _WRITERS}

    @extend_schema(request=RequirementSetBody, responses=CheckedOut)
    def post(self, request: Request) -> Response:
        """Return what is wrong or contradictory, and what is worth a second thought."""
        sent = read(RequirementSetBody, request)
        faults = _faults(sent)
        body = {
            "usable": not faults,
            "faults": [
                {"field": each.field, "found": each.found, "expected": each.expected}
                for each in faults
            ],
            "remarks": [] if faults else list(remarks(sent)),
        }
        return Response(body)


class RequirementSetExampleView(KnownQuestions, APIView):
    """Example sets, each limit with its source: nobody's contract, to be copied and changed."""

    doors: Doors = {"GET": OFFICE}

    @extend_schema(responses=RequirementSetBody(many=True))
    def get(self, request: Request) -> Response:
        """Return a strict municipal one, one for laterals, and a minimal one."""
        del request
        return Response(list(example_sets().values()))


class RequirementSetCompareView(KnownQuestions, APIView):
    """Two versions side by side."""

    doors: Doors = {"GET": OFFICE}
    asks = frozenset({"with"})

    @extend_schema(
        responses=DifferenceOut(many=True),
        parameters=[OpenApiParameter("with", UUID, required=True, description="the newer one")],
    )
    def get(self, request: Request, set_id: UUID) -> Response:
        """Return what was added, taken out and changed."""
        try:
            other = UUID(request.query_params.get("with", ""))
        except ValueError:
            found = shown(request.query_params.get("with"))
            raise malformed(Fault("with", found, "the id of another requirement set")) from None
        before, after = (
            RequirementSetBody(get_object_or_404(RequirementSet, pk=each)).data
            for each in (set_id, other)
        )
        found_all = [
            {"part": each.part, "name": each.name, "before": each.before, "after": each.after,
             "words": each.words}
            for each in compare(before, after)
        ]  # fmt: skip
        return Response(DifferenceOut(found_all, many=True).data)


def _faults(sent: Mapping[str, Any]) -> tuple[Fault, ...]:
    """Name what is wrong part by part; only when nothing is, what contradicts itself."""
    faults = (
        *contract_faults(sent["limits"], sent["fitness_rules"]),
        *requirement_faults(sent["requirements"]),
        *escalation_faults(sent["escalation"]),
        *term_faults(sent["terms"]),
        *pay_faults(sent["pay"]),
    )
    return faults or contradictions(sent)
