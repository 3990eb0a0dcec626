"""Keeps what a record says each time it is written, for those that are corrected in place.

What is corrected by right leaves no trace in its own row; its editions do, and the history
holds them.
"""

from datetime import datetime

from django.db import transaction

from repairs.domain.plain import plain
from repairs.models import Account, Edition, Kept


def kind_of(model: type[Kept]) -> str:
    """Return what editions call a kind of record, such as 'work order'."""
    return str(model._meta.verbose_name)  # noqa: SLF001 - Django documents it


@transaction.atomic
def keep_edition(*, row: Kept, by: Account | None, now: datetime) -> Edition:
    """Keep what the record says from now on."""
    return Edition.objects.create(
        kind=kind_of(type(row)),
        subject=row.pk,
        values={name: plain(getattr(row, name)) for name in row.kept},
        made_by=by,
        made_at=now,
    )
