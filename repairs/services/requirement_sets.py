"""A contract's requirements, checked before they are used."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import transaction

from repairs.domain.fitness import rules_from
from repairs.domain.limits import limits_from
from repairs.domain.problem import Fault, Refused, malformed
from repairs.models import RequirementSet


@transaction.atomic
def add_requirement_set(
    *,
    name: str,
    version: int,
    limits: Mapping[str, Any],
    fitness_rules: Sequence[Mapping[str, Any]],
    requirements: Sequence[Mapping[str, Any]],
    qualifications: Sequence[str] = (),
    note: str = "",
) -> RequirementSet:
    """Add a version of a set; a version that is there is never changed.

    Which requirement codes exist is qa's knowledge, so its door has checked them.
    """
    try:
        limits_from(limits)
        rules_from(fitness_rules)
    except ValueError as error:
        field, _, rest = str(error).partition(": ")
        raise malformed(Fault(field, "what was sent", rest)) from error
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
        note=note,
    )
