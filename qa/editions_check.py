"""Compares each record that is corrected in place with its newest edition; writes nothing."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from repairs.domain.plain import plain
from repairs.models import Edition, Kept
from repairs.services.keep_edition import kind_of


def edition_faults() -> Iterator[str]:
    """Name each record that says something else than its newest edition, or is gone."""
    for model in Kept.__subclasses__():
        yield from _faults(model)


def _faults(model: type[Kept]) -> Iterator[str]:
    kind = kind_of(model)
    newest = _newest(kind)
    rows = model._default_manager.values("pk", *model.kept)  # noqa: SLF001 - any model's
    for row in rows.iterator(chunk_size=2000):
        said = newest.pop(row["pk"], {})
        for name, before in said.items():
            if name in row and plain(row[name]) != before:
                yield (
                    f"{kind} {row['pk']}: {name} is {plain(row[name])!r}, its newest edition says "
                    f"{before!r}"
                )
    for subject in newest:
        yield f"{kind} {subject}: its editions are there, it is not"


def _newest(kind: str) -> dict[UUID, dict[str, Any]]:
    rows = Edition.objects.filter(kind=kind).order_by("made_at")
    return dict(rows.values_list("subject", "values").iterator(chunk_size=2000))
