"""Compares each record that is corrected in place with its newest edition; writes nothing."""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from repairs.domain.plain import plain
from repairs.models import Edition, Kept
from repairs.services.keep_edition import kind_of

_KNOWN_BY = ("ref", "number", "serial", "reference")
"""What people call a record by: a repair or run, an order, a packer, a certificate."""


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
                    f"{_who(kind, row['pk'], said)}: {name} is {plain(row[name])!r}, its newest "
                    f"edition says {before!r}"
                )
    for subject, said in newest.items():
        yield f"{_who(kind, subject, said)}: its editions are there, it is not"


def _who(kind: str, subject: UUID, said: Mapping[str, Any]) -> str:
    """Name a record as people know it, by its newest edition, and as the tables do."""
    known = next((said[name] for name in _KNOWN_BY if said.get(name)), "")
    return f"{kind} {known} ({subject})" if known else f"{kind} {subject}"


def _newest(kind: str) -> dict[UUID, dict[str, Any]]:
    rows = Edition.objects.filter(kind=kind).order_by("made_at")
    return dict(rows.values_list("subject", "values").iterator(chunk_size=2000))
