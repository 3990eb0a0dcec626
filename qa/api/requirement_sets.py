"""Requirement sets: a contract's limits, fitness rules and requirements, by version."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from dispatch.domain.escalation import escalation_faults
from dispatch.domain.terms import term_faults
from qa.domain.requirement import requirement_faults
from repairs.api.doors import Doors
from repairs.api.questions import KnownQuestions
from repairs.api.strict import StrictSerializer, read
from repairs.domain.problem import malformed
from repairs.domain.roles import OFFICE, Role
from repairs.models import RequirementSet
from repairs.services.requirement_sets import add_requirement_set, contract_faults


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
    note = serializers.CharField(allow_blank=True, default="", max_length=5000)


class RequirementSetListView(KnownQuestions, ListAPIView):
    """Requirement sets."""

    doors: Doors = {
        "GET": OFFICE,
        "POST": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR}),
    }
    queryset = RequirementSet.objects.all()
    serializer_class = RequirementSetBody

    @extend_schema(request=RequirementSetBody, responses={201: RequirementSetBody})
    def post(self, request: Request) -> Response:
        """Add a version; one that is there is never changed."""
        sent = read(RequirementSetBody, request)
        faults = contract_faults(sent["limits"], sent["fitness_rules"])
        faults = (*faults, *requirement_faults(sent["requirements"]))
        if faults := (*faults, *escalation_faults(sent["escalation"]), *term_faults(sent["terms"])):
            raise malformed(*faults)
        row = add_requirement_set(**sent)
        return Response(RequirementSetBody(row).data, status=201)
