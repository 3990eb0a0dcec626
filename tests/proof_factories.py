"""Makes records of events, assignments and proof, placed directly; all invented.

For tests of who may see what. A repair that is truly proved comes from
``tests.proved_repair``, by way of the API.
"""

import hashlib
from datetime import timedelta
from typing import Any

import factory
from factory.django import DjangoModelFactory

from dispatch import models as dispatch
from dispatch.domain.plan.problem import Problem
from dispatch.domain.plan.travel import Travel
from dispatch.plan_facts.stored_problem import pack
from qa import models as qa
from repairs import models as repairs
from repairs.domain.roles import Role
from tests.factories import (
    AccountFactory,
    CrewFactory,
    CustomerFactory,
    RepairFactory,
    RequirementSetFactory,
    WorkOrderFactory,
    now,
)


class FieldEventFactory(DjangoModelFactory[repairs.FieldEvent]):
    class Meta:
        model = repairs.FieldEvent

    repair = factory.SubFactory(RepairFactory)
    attempt = 1
    kind = "arrived"
    device = "invented phone"
    device_time = factory.LazyFunction(now)
    offset_low_s, offset_high_s = -30.0, 0.0
    clock_verified = True
    body_digest = "0" * 64
    posted_by = factory.SubFactory(AccountFactory, role=Role.CREW_LEAD.value)
    received_at = factory.LazyFunction(now)


class PrescriptionFactory(DjangoModelFactory[repairs.Prescription]):
    """A stored calculation; its figures are just enough for an assignment to show them."""

    class Meta:
        model = repairs.Prescription

    repair = factory.SubFactory(RepairFactory)
    number = factory.LazyAttribute(lambda row: row.repair.prescriptions.count() + 1)
    attempt = 1
    requirement_set = factory.SubFactory(RequirementSetFactory)
    rules_version = "invented"
    inputs = factory.LazyFunction(dict)
    fitness = "yes"
    fitness_reasons = factory.LazyFunction(list)
    result = factory.LazyFunction(
        lambda: {
            "kit": "KIT-300",
            "sleeve_count": 1,
            "sleeve_length_m": 1.0,
            "working_min": 30.0,
            "cure_min": 105.0,
            "working_chart": None,
            "cure_chart": None,
            "resin": {"part_a_kg": 2.0, "part_b_kg": 1.0},
            "window": {"low_kpa": 15.0, "high_kpa": 49.0, "target_kpa": 33.0},
        }
    )
    created_by = factory.SubFactory(AccountFactory)
    created_at = factory.LazyFunction(now)


class AssignmentFactory(DjangoModelFactory[dispatch.Assignment]):
    class Meta:
        model = dispatch.Assignment

    repair = factory.SubFactory(RepairFactory)
    crew = factory.SubFactory(CrewFactory)
    prescription = factory.SubFactory(PrescriptionFactory, repair=factory.SelfAttribute("..repair"))
    attempt = 1
    starts_at = factory.LazyFunction(now)
    ends_at = factory.LazyAttribute(lambda row: row.starts_at + timedelta(hours=6))

    class Params:
        """`next_day` for a crew's second assignment: PostgreSQL lets no crew be in two places."""

        next_day = factory.Trait(starts_at=factory.LazyFunction(lambda: now() + timedelta(days=1)))

    assigned_by = factory.SubFactory(AccountFactory)
    created_at = factory.LazyFunction(now)


class PlanFactory(DjangoModelFactory[dispatch.Plan]):
    """A plan of tomorrow without a stop."""

    class Meta:
        model = dispatch.Plan

    starts_on = factory.LazyFunction(lambda: now().date() + timedelta(days=1))
    days = 1
    origin = factory.LazyFunction(now)
    planned_at = factory.LazyFunction(now)
    planned_by = factory.SubFactory(AccountFactory)
    seed = 1
    engine = method = "invented"
    weights = factory.LazyFunction(dict)
    inputs_hash = "0" * 64
    travel_source = "estimated"
    figures = factory.LazyFunction(dict)
    problem = factory.LazyAttribute(
        lambda row: pack(Problem(row.origin, 1, Travel((), (), ()), (), ())).body
    )


class PlanRunFactory(DjangoModelFactory[dispatch.PlanRun]):
    """A run that is over."""

    class Meta:
        model = dispatch.PlanRun

    starts_on = factory.LazyFunction(lambda: now().date() + timedelta(days=1))
    days = seed = search_s = 1
    state = "done"
    asked_by = factory.SubFactory(AccountFactory)
    asked_at = factory.LazyFunction(now)


class PinFactory(DjangoModelFactory[dispatch.Pin]):
    class Meta:
        model = dispatch.Pin

    repair = factory.SubFactory(RepairFactory)
    crew = factory.SubFactory(CrewFactory)
    reason = "invented"
    pinned_by = factory.SubFactory(AccountFactory)
    pinned_at = factory.LazyFunction(now)


class NoticeFactory(DjangoModelFactory[dispatch.Notice]):
    class Meta:
        model = dispatch.Notice
        skip_postgeneration_save = True

    key = factory.Sequence(lambda n: f"invented:{n}")
    crew = factory.SubFactory(CrewFactory)
    repair = factory.SubFactory(RepairFactory)
    code = "hold_until_reached"
    words = "Invented notice."
    source, since = "repair", "1"
    subject_id = factory.LazyAttribute(lambda row: str(row.repair.pk))
    due_at = factory.LazyFunction(now)
    sent_at = factory.LazyFunction(now)
    changed_at = factory.LazyFunction(now)
    useful_until = factory.LazyFunction(lambda: now() + timedelta(hours=1))

    @factory.post_generation
    def calls(self: dispatch.Notice, _create: bool, _extracted: Any, **_kwargs: Any) -> None:
        """Tell the crew lead and the dispatcher."""
        for rung in ("crew lead", "dispatcher"):
            dispatch.Call.objects.create(notice=self, to=rung, at=self.sent_at)


class ContactFactory(DjangoModelFactory[dispatch.Contact]):
    class Meta:
        model = dispatch.Contact

    account = factory.SubFactory(AccountFactory)
    channel = "webhook"
    address = factory.Sequence(lambda n: f"https://gateway-{n}.example/told")
    secret = "whsec_" + "aW52ZW50ZWQga2V5IG9mIDMyIGJ5dGVzLCBubyBtb3JlIQ=="


class KnownWayFactory(DjangoModelFactory[dispatch.KnownWay]):
    """Forty minutes round the invented river."""

    class Meta:
        model = dispatch.KnownWay

    from_latitude, from_longitude = 10.0, 20.0
    to_latitude = factory.Sequence(lambda n: round(10.05 + n / 1000, 4))
    to_longitude = 20.0
    seconds, metres = 2400, 30_000
    entered_by = factory.SubFactory(AccountFactory)
    entered_at = factory.LazyFunction(now)


class OnCallFactory(DjangoModelFactory[dispatch.OnCall]):
    class Meta:
        model = dispatch.OnCall

    account = factory.SubFactory(AccountFactory)
    starts_at = factory.LazyFunction(lambda: now() - timedelta(hours=1))
    ends_at = factory.LazyFunction(lambda: now() + timedelta(hours=1))


class EvidenceFactory(DjangoModelFactory[qa.Evidence]):
    class Meta:
        model = qa.Evidence

    repair = factory.SubFactory(RepairFactory)
    attempt = 1
    kind = "other_photo"
    file_name = "invented.jpg"
    media_type = "image/jpeg"
    sha256 = factory.Sequence(lambda n: hashlib.sha256(f"file {n}".encode()).hexdigest())
    size_bytes = 12
    posted_by = factory.SubFactory(AccountFactory, role=Role.CREW_LEAD.value)
    received_at = factory.LazyFunction(now)


class SetAsideFactory(DjangoModelFactory[dispatch.SetAside]):
    """A report that was not understood."""

    class Meta:
        model = dispatch.SetAside

    digest = factory.Sequence(lambda n: hashlib.sha256(f"report {n}".encode()).hexdigest())
    body = '{"invented": true}'
    code = "malformed"
    posted_by = factory.SubFactory(AccountFactory, role=Role.CREW_LEAD.value)
    received_at = factory.LazyFunction(now)


class UploadFactory(DjangoModelFactory[qa.Upload]):
    """An upload under way; its bytes are made by whoever needs them."""

    class Meta:
        model = qa.Upload

    repair = factory.SubFactory(RepairFactory)
    declared = factory.LazyFunction(
        lambda: {
            "kind": "other_photo",
            "file_name": "invented.jpg",
            "media_type": "image/jpeg",
            "title": "",
            "device": "",
            "captured_at": None,
            "attempt": None,
            "sha256": None,
        }
    )
    length_bytes = 12
    created_by = factory.SubFactory(AccountFactory, role=Role.CREW_LEAD.value)
    created_at = factory.LazyFunction(now)
    expires_at = factory.LazyFunction(lambda: now() + timedelta(days=7))


class WaiverFactory(DjangoModelFactory[qa.Waiver]):
    class Meta:
        model = qa.Waiver

    repair = factory.SubFactory(RepairFactory)
    attempt = 1
    requirement = "wet_out_photo"
    name, role, reason = "Invented Person", "client's engineer", "Invented reason."
    recorded_by = factory.SubFactory(AccountFactory)
    recorded_at = factory.LazyFunction(now)


class NonconformanceFactory(DjangoModelFactory[qa.Nonconformance]):
    class Meta:
        model = qa.Nonconformance

    repair = factory.SubFactory(RepairFactory)
    attempt = 1
    code = "hold_test"
    words = "mixing started was reported although no hold test has been reported"
    found_by_rule = True
    opened_at = factory.LazyFunction(now)


class ClosingFactory(DjangoModelFactory[qa.Closing]):
    class Meta:
        model = qa.Closing

    repair = factory.SubFactory(RepairFactory)
    attempt = 1
    verdicts = factory.LazyFunction(
        lambda: [
            {
                "code": "hold_test",
                "title": "Hold test of the packer",
                "outcome": "met",
                "reason": "invented",
                "settle": "",
                "numbers": {},
                "evidence": [],
                "waiver": None,
                "source": "invented for tests",
                "closes": True,
            }
        ]
    )
    closed_by = factory.SubFactory(AccountFactory, role=Role.REVIEWER.value)
    closed_at = factory.LazyFunction(now)


class CloseoutPackageFactory(DjangoModelFactory[qa.CloseoutPackage]):
    class Meta:
        model = qa.CloseoutPackage

    closing = factory.SubFactory(ClosingFactory)
    file_name = "invented.zip"
    requested_at = factory.LazyFunction(now)


class CollectedPackageFactory(DjangoModelFactory[qa.CollectedPackage]):
    class Meta:
        model = qa.CollectedPackage

    customer = factory.SubFactory(CustomerFactory)
    month = factory.LazyFunction(lambda: now().date().replace(day=1))
    members = factory.LazyFunction(lambda: {"packages": [], "not_closed": [], "of": "2031-03"})
    file_name = "invented-packages.zip"
    requested_at = factory.LazyFunction(now)
    requested_by = factory.SubFactory(AccountFactory)


class PackageLinkFactory(DjangoModelFactory[qa.PackageLink]):
    class Meta:
        model = qa.PackageLink

    package = factory.SubFactory(CloseoutPackageFactory)
    made_by = factory.SubFactory(AccountFactory)
    made_at = factory.LazyFunction(now)
    expires_at = factory.LazyFunction(lambda: now() + timedelta(days=1))


class LegalHoldFactory(DjangoModelFactory[qa.LegalHold]):
    class Meta:
        model = qa.LegalHold

    work_order = factory.SubFactory(WorkOrderFactory)
    reason = "invented claim"
    set_by = factory.SubFactory(AccountFactory)
    set_at = factory.LazyFunction(now)


class ClientAnswerFactory(DjangoModelFactory[qa.ClientAnswer]):
    class Meta:
        model = qa.ClientAnswer

    package = factory.SubFactory(CloseoutPackageFactory)
    answer = "accepted"
    answered_by = factory.SubFactory(AccountFactory)
    answered_at = factory.LazyFunction(now)
