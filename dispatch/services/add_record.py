"""Adds a crew, its people, certificates and gear, and lots: each once, by its own key."""

from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction

from dispatch.models import Crew, CrewMember, Equipment, Lot, Qualification
from dispatch.services.truck_changed import truck_changed
from repairs.domain.problem import Fault, Refused
from repairs.models import Account, Kept
from repairs.services.keep_edition import keep_edition

M = TypeVar("M", Crew, CrewMember, Equipment, Lot, Qualification)


def add_record(
    *,
    model: type[M],
    values: dict[str, Any],
    key: str,
    by: Account,
    now: datetime,
    truck: UUID | None = None,
) -> M:
    """Add a row; with `truck` have the reminders of that crew's truck brought in line.

    Raises
    ------
    Refused
        If a row with the same `key` is there already.
    """
    try:
        with transaction.atomic():
            row = model._default_manager.create(**values)  # noqa: SLF001 - any model's
            if isinstance(row, Kept):
                keep_edition(row=row, by=by, now=now)
            if truck is not None:
                truck_changed(crew_id=truck, now=now)
            return row
    except IntegrityError as error:
        found = str(values[key])
        raise Refused(
            "already_there",
            f"{key}: {found!r} is already there.",
            faults=[Fault(key, found, "one that is not there yet")],
        ) from error
