"""A contract's requirements, checked before they are used."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from repairs.domain.fitness import rule_faults
from repairs.domain.limits import limit_faults
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import RequirementSet


def contract_faults(
    limits: Mapping[str, Any], fitness_rules: Sequence[Mapping[str, Any]]
) -> tuple[Fault, ...]:
    """Name everything that is wrong with a contract's limits and fitness rules."""
    return (*limit_faults(limits), *rule_faults(fitness_rules))


@transaction.atomic
def add_requirement_set(
    *,
    name: str,
    version: int,
    limits: Mapping[str, Any],
    fitness_rules: Sequence[Mapping[str, Any]],
    requirements: Sequence[Mapping[str, Any]],
    qualifications: Sequence[str] = (),
    escalation: Mapping[str, Any] | None = None,
    terms: Mapping[str, Any] | None = None,
    pay: Sequence[Mapping[str, Any]] = (),
    accepts_as_is: Sequence[str] = (),
    note: str = "",
) -> RequirementSet:
    """Add a version of a set; a version that is there is never changed.

    Which requirement codes exist is qa's knowledge, and who is told when is dispatch's:
    the door has checked both.
    """
    if faults := contract_faults(limits, fitness_rules):
        raise malformed(*faults)
    if RequirementSet.objects.filter(name=name, version=version).exists():
        raise Refused(
            "already_there",
            f"{name}, version {version} is there and stays as it is; send it as the next version.",
        )
    return RequirementSet.objects.create(
        name=name,
        version=version,
        limits=limits,
        fitness_rules=list(fitness_rules),
        requirements=list(requirements),
        qualifications=list(qualifications),
        escalation=dict(escalation or {}),
        terms=dict(terms or {}),
        pay=list(pay),
        accepts_as_is=list(accepts_as_is),
        note=note,
    )
