"""Which records the history keeps: of each kind its rows, and what of a row never changes.

The history rests on the records themselves, not on a copy: an event that is edited in its table
no longer fits its entry. A record that changes by right (a nonconformance is decided, a file is
taken back) is one fact for each step, of the columns that step wrote.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import Exists, Model, OuterRef, Q, QuerySet

from dispatch.models import Assignment, Lot
from qa.domain.history import Fact
from qa.models import (
    ClientAnswer,
    CloseoutPackage,
    Closing,
    CollectedPackage,
    Evidence,
    HistoryEntry,
    LegalHold,
    Nonconformance,
    PackageLink,
    SecondReview,
    ShownTime,
    Waiver,
)
from repairs.domain.plain import plain
from repairs.models import Chart, Edition, FieldEvent, Prescription, RequirementSet


@dataclass(frozen=True, slots=True)
class Source:
    """One kind of fact.

    Parameters
    ----------
    stated : str
        The column that says when it was stored, by its own word.
    columns : tuple of str
        What belongs to the fact; never written again once it stands.
    stands : Q
        Which rows have come to this step.
    added : tuple of str
        Columns that came after entries were written: left out while they are empty, so that a
        fact of before still has the digest it had.
    """

    name: str
    model: type[Model]
    stated: str
    columns: tuple[str, ...]
    stands: Q = field(default_factory=Q)
    added: tuple[str, ...] = ()

    def rows(self) -> QuerySet[Any]:
        """Return all rows that have come to this step."""
        return self.model._default_manager.filter(self.stands)  # noqa: SLF001 - any model's

    def new_rows(self, since: datetime | None) -> QuerySet[Any]:
        """Return the rows that stand in no entry yet, of those stored since then."""
        entries = HistoryEntry.objects.filter(source=self.name, subject=OuterRef("pk"))
        rows = (
            self.rows() if since is None else self.rows().filter(**{f"{self.stated}__gte": since})
        )
        return rows.filter(~Exists(entries)).order_by(self.stated, "pk")

    def facts(self, rows: QuerySet[Any]) -> Iterator[Fact]:
        """Yield the rows as facts, without loading them all at once."""
        wanted = ("pk", self.stated, *self.columns, *self.added)
        for row in rows.values(*wanted).iterator(chunk_size=2000):
            content = {name: plain(row[name]) for name in self.columns}
            content |= {name: plain(row[name]) for name in self.added if row[name]}
            yield Fact(self.name, str(row["pk"]), row[self.stated], content)


def all_facts() -> Iterator[Fact]:
    """Yield every fact there is."""
    for source in SOURCES:
        yield from source.facts(source.rows())


def new_facts(since: datetime | None) -> list[Fact]:
    """Return the facts that stand in no entry yet, in the order of their own times."""
    found = [fact for source in SOURCES for fact in source.facts(source.new_rows(since))]
    return sorted(found, key=lambda fact: (fact.stated_at, fact.source, fact.subject))


SOURCES = (
    Source(
        "edition",
        Edition,
        "made_at",
        ("kind", "subject", "values", "made_by_id"),
    ),
    Source(
        "chart",
        Chart,
        "created_at",
        ("resin_system_id", "purpose", "diameter_min_mm", "diameter_max_mm", "clock_start",
         "rows", "rounding_min", "version", "source"),
    ),
    Source(
        "lot",
        Lot,
        "created_at",
        ("kit_type_id", "number", "resin_lot_a", "resin_lot_b", "expires_on"),
    ),
    Source(
        "requirement set",
        RequirementSet,
        "created_at",
        ("name", "version", "limits", "fitness_rules", "requirements", "qualifications",
         "escalation", "terms", "pay", "note"),
        added=("accepts_as_is",),
    ),
    Source(
        "prescription",
        Prescription,
        "created_at",
        ("repair_id", "number", "attempt", "requirement_set_id", "rules_version", "inputs",
         "fitness", "fitness_reasons", "result", "created_by_id"),
    ),
    Source(
        "assignment",
        Assignment,
        "created_at",
        ("repair_id", "crew_id", "prescription_id", "attempt", "starts_at", "ends_at",
         "assigned_by_id"),
    ),
    Source(
        "crew freed sooner",
        Assignment,
        "freed_at",
        (),
        Q(freed_at__isnull=False),
    ),
    Source(
        "assignment cancelled",
        Assignment,
        "cancelled_at",
        ("cancel_reason",),
        Q(cancelled_at__isnull=False),
    ),
    Source(
        "field event",
        FieldEvent,
        "received_at",
        ("repair_id", "attempt", "kind", "device", "device_time", "sequence", "offset_low_s",
         "offset_high_s", "clock_verified", "corrects", "data", "posted_by_id"),
    ),
    Source(
        "evidence",
        Evidence,
        "received_at",
        ("repair_id", "attempt", "kind", "title", "file_name", "media_type", "sha256",
         "size_bytes", "device", "captured_at", "offset_low_s", "offset_high_s", "posted_by_id"),
    ),
    Source(
        "evidence taken back",
        Evidence,
        "taken_back_at",
        ("taken_back_by_id", "taken_back_reason"),
        Q(taken_back_at__isnull=False),
    ),
    Source(
        "clock in a photo",
        ShownTime,
        "said_at",
        ("evidence_id", "shown_at", "resolution_s", "trusted", "camera_showed", "said_by_id"),
    ),
    Source(
        "nonconformance",
        Nonconformance,
        "opened_at",
        ("repair_id", "attempt", "code", "found_by_rule", "opened_by_id"),
    ),
    Source(
        "nonconformance withdrawn",
        Nonconformance,
        "withdrawn_at",
        ("withdrawn_by_id", "withdrawn_reason"),
        Q(withdrawn_by__isnull=False),
    ),
    Source(
        "nonconformance decided",
        Nonconformance,
        "decided_at",
        ("disposition", "disposition_reason", "root_cause", "evidence", "decided_by_id"),
        Q(decided_at__isnull=False),
        added=("accepted_by_name", "accepted_by_role"),
    ),
    Source(
        "nonconformance carried out",
        Nonconformance,
        "done_at",
        ("done_evidence",),
        Q(done_at__isnull=False),
    ),
    Source(
        "waiver",
        Waiver,
        "recorded_at",
        ("repair_id", "attempt", "requirement", "name", "role", "reason", "judged",
         "recorded_by_id"),
    ),
    Source(
        "second review",
        SecondReview,
        "reviewed_at",
        ("repair_id", "attempt", "reviewer_id", "words"),
    ),
    Source(
        "closing",
        Closing,
        "closed_at",
        ("repair_id", "attempt", "verdicts", "closed_by_id"),
    ),
    Source(
        "package",
        CloseoutPackage,
        "ready_at",
        ("closing_id", "file_name", "sha256", "size_bytes"),
        Q(ready_at__isnull=False),
    ),
    Source(
        "collected package",
        CollectedPackage,
        "ready_at",
        ("customer_id", "work_order_id", "month", "members", "file_name", "requested_by_id",
         "sha256", "size_bytes"),
        Q(ready_at__isnull=False),
    ),
    Source(
        "link to a package",
        PackageLink,
        "made_at",
        ("package_id", "made_by_id", "expires_at"),
        Q(made_by__isnull=False),
    ),
    Source(
        "link sent to the client",
        PackageLink,
        "made_at",
        ("package_id", "collected_id", "sent_to_id", "expires_at"),
        Q(sent_to__isnull=False),
    ),
    Source(
        "legal hold",
        LegalHold,
        "set_at",
        ("work_order_id", "reason", "set_by_id"),
    ),
    Source(
        "legal hold lifted",
        LegalHold,
        "lifted_at",
        ("lifted_by_id", "lifted_reason"),
        Q(lifted_at__isnull=False),
    ),
    Source(
        "client's answer",
        ClientAnswer,
        "answered_at",
        ("package_id", "answer", "reasons", "note", "answered_by_id"),
    ),
)  # fmt: skip
"""Every kind of fact, in the order of the work."""
