"""Makes records of every kind; all names, places and numbers are invented.

A `Repair` comes with its run, site, order and contract: DN 300 concrete, a crack
of 0.30 m at 14.20 m, everything recorded that the fitness rules ask for.
"""

import hashlib
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import factory
from factory.django import DjangoModelFactory

from dispatch import models as dispatch
from repairs import models as repairs
from repairs.domain.roles import Role
from tests import contract_example as example


def today() -> date:
    """Return today; expiry dates are counted from it, since the service asks the real clock."""
    return datetime.now(UTC).date()


def now() -> datetime:
    """Return the present."""
    return datetime.now(UTC)


class CustomerFactory(DjangoModelFactory[repairs.Customer]):
    class Meta:
        model = repairs.Customer

    code = factory.Sequence(lambda n: f"TOWN-{n}")
    name = factory.Sequence(lambda n: f"Invented town {n}")


class AccountFactory(DjangoModelFactory[repairs.Account]):
    class Meta:
        model = repairs.Account

    username = factory.Sequence(lambda n: f"invented-{n}")
    role = Role.DISPATCHER.value
    customer = None
    password = "!"


class DeviceTokenFactory(DjangoModelFactory[repairs.DeviceToken]):
    class Meta:
        model = repairs.DeviceToken

    account = factory.SubFactory(AccountFactory, role=Role.CREW_LEAD.value)
    label = "invented phone"
    digest = factory.Sequence(lambda n: hashlib.sha256(str(n).encode()).hexdigest())
    expires_at = factory.LazyFunction(lambda: now() + timedelta(days=30))


class RequirementSetFactory(DjangoModelFactory[repairs.RequirementSet]):
    class Meta:
        model = repairs.RequirementSet
        django_get_or_create = ("name", "version")

    name = "Invented contract"
    version = 1
    limits = example.LIMITS
    fitness_rules = example.FITNESS_RULES
    requirements = example.REQUIREMENTS
    qualifications = factory.LazyFunction(lambda: [example.QUALIFICATION])


class SiteFactory(DjangoModelFactory[repairs.Site]):
    class Meta:
        model = repairs.Site

    customer = factory.SubFactory(CustomerFactory)
    ref = factory.Sequence(lambda n: f"S-{n}")
    street = "Invented Street"
    time_zone = "CET"


class AccessPointFactory(DjangoModelFactory[repairs.AccessPoint]):
    class Meta:
        model = repairs.AccessPoint

    site = factory.SubFactory(SiteFactory)
    ref = factory.Sequence(lambda n: f"AP-{n}")
    latitude = 10.0
    longitude = 20.0


class RunFactory(DjangoModelFactory[repairs.Run]):
    class Meta:
        model = repairs.Run

    site = factory.SubFactory(SiteFactory)
    ref = factory.Sequence(lambda n: f"R-{n}")
    upstream = factory.SubFactory(AccessPointFactory, site=factory.SelfAttribute("..site"))
    downstream = factory.SubFactory(AccessPointFactory, site=factory.SelfAttribute("..site"))
    diameter_mm = 300.0
    material = "concrete"
    length_m = 40.0
    groundwater_above_invert_m = 0.5


class WorkOrderFactory(DjangoModelFactory[repairs.WorkOrder]):
    class Meta:
        model = repairs.WorkOrder

    customer = factory.SubFactory(CustomerFactory)
    number = factory.Sequence(lambda n: f"WO-{n}")
    requirement_set = factory.SubFactory(RequirementSetFactory)


class RepairFactory(DjangoModelFactory[repairs.Repair]):
    class Meta:
        model = repairs.Repair

    class Params:
        customer = factory.SubFactory(CustomerFactory)

    work_order = factory.SubFactory(WorkOrderFactory, customer=factory.SelfAttribute("..customer"))
    run = factory.SubFactory(RunFactory, site__customer=factory.SelfAttribute("...customer"))
    ref = factory.Sequence(lambda n: f"REP-{n}")
    defect_code = "BAB"
    defect_extent_m = 0.30
    datum = factory.SelfAttribute("run.upstream")
    distance_m = 14.20
    inspection_filmed_on = factory.LazyFunction(today)
    infiltration = "none"
    offset_mm = 0.0
    deformation_percent = 0.0
    roots = False
    deposits = False
    void_behind = False
    connection_in_sleeve = False


class ResinSystemFactory(DjangoModelFactory[repairs.ResinSystem]):
    class Meta:
        model = repairs.ResinSystem
        django_get_or_create = ("code",)

    code, name = example.RESIN_SYSTEM["code"], example.RESIN_SYSTEM["name"]
    ratio_a, ratio_b = example.RESIN_SYSTEM["ratio_a"], example.RESIN_SYSTEM["ratio_b"]
    ratio_basis = example.RESIN_SYSTEM["ratio_basis"]
    density_a_kg_m3 = example.RESIN_SYSTEM["density_a_kg_m3"]
    density_b_kg_m3 = example.RESIN_SYSTEM["density_b_kg_m3"]
    density_mixed_kg_m3 = example.RESIN_SYSTEM["density_mixed_kg_m3"]
    model_allowance = example.RESIN_SYSTEM["model_allowance"]
    source = example.INVENTED


class ChartFactory(DjangoModelFactory[repairs.Chart]):
    class Meta:
        model = repairs.Chart
        django_get_or_create = ("resin_system", "purpose", "diameter_min_mm", "version")

    resin_system = factory.SubFactory(ResinSystemFactory)
    purpose = "cure"
    diameter_min_mm, diameter_max_mm = 150.0, 400.0
    clock_start = "inflation"
    rows = example.CURE_ROWS
    rounding_min = 5.0
    version = "cure invented 1"
    source = example.INVENTED


class KitTypeFactory(DjangoModelFactory[repairs.KitType]):
    """The kit of the example contract, with both charts of its resin."""

    class Meta:
        model = repairs.KitType
        django_get_or_create = ("code",)
        skip_postgeneration_save = True

    code, name = example.KIT_TYPE["code"], example.KIT_TYPE["name"]
    resin_system = factory.SubFactory(ResinSystemFactory)
    diameter_min_mm = example.KIT_TYPE["diameter_min_mm"]
    diameter_max_mm = example.KIT_TYPE["diameter_max_mm"]
    sleeve_lengths_m = example.KIT_TYPE["sleeve_lengths_m"]
    thickness_mm = example.KIT_TYPE["thickness_mm"]
    fibre_volume_fraction = example.KIT_TYPE["fibre_volume_fraction"]
    host_loss_fraction = example.KIT_TYPE["host_loss_fraction"]
    waste_fraction = example.KIT_TYPE["waste_fraction"]
    usual_inflation_kpa = example.KIT_TYPE["usual_inflation_kpa"]
    limit_kpa = example.KIT_TYPE["limit_kpa"]
    contents = example.KIT_TYPE["contents"]
    source = example.INVENTED

    @factory.post_generation
    def charts(self: repairs.KitType, _create: bool, _extracted: Any, **_kwargs: Any) -> None:
        """Give the resin its cure chart and its working-time chart."""
        for chart in (example.CURE_CHART, example.WORKING_CHART):
            ChartFactory(resin_system=self.resin_system, **chart)


class YardFactory(DjangoModelFactory[dispatch.Yard]):
    class Meta:
        model = dispatch.Yard

    code = factory.Sequence(lambda n: f"YARD-{n}")
    name = "Invented yard"
    latitude, longitude = 10.0, 20.0


class WorkHoursFactory(DjangoModelFactory[dispatch.WorkHours]):
    class Meta:
        model = dispatch.WorkHours

    crew = factory.SubFactory("tests.factories.CrewFactory")
    weekday = 0
    begins, ends = time(7), time(16)


class CrewFactory(DjangoModelFactory[dispatch.Crew]):
    class Meta:
        model = dispatch.Crew

    code = factory.Sequence(lambda n: f"CREW-{n}")
    name = factory.Sequence(lambda n: f"Invented crew {n}")
    time_zone = "CET"


class CrewMemberFactory(DjangoModelFactory[dispatch.CrewMember]):
    class Meta:
        model = dispatch.CrewMember

    crew = factory.SubFactory(CrewFactory)
    name = factory.Sequence(lambda n: f"Invented person {n}")
    account = factory.SubFactory(AccountFactory, role=Role.CREW_LEAD.value)


class QualificationFactory(DjangoModelFactory[dispatch.Qualification]):
    class Meta:
        model = dispatch.Qualification

    member = factory.SubFactory(CrewMemberFactory)
    kind = example.QUALIFICATION
    expires_on = factory.LazyFunction(lambda: today() + timedelta(days=200))


class EquipmentFactory(DjangoModelFactory[dispatch.Equipment]):
    class Meta:
        model = dispatch.Equipment

    crew = factory.SubFactory(CrewFactory)
    kind = "packer"
    serial = factory.Sequence(lambda n: f"PK-{n}")
    diameter_min_mm, diameter_max_mm = 200.0, 320.0
    length_m, limit_kpa = 1.6, 60.0
    test_due_on = factory.LazyFunction(lambda: today() + timedelta(days=200))


class LotFactory(DjangoModelFactory[dispatch.Lot]):
    class Meta:
        model = dispatch.Lot

    kit_type = factory.SubFactory(KitTypeFactory)
    number = factory.Sequence(lambda n: f"LOT-{n}")
    resin_lot_a = factory.LazyAttribute(lambda lot: f"{lot.number}-A")
    resin_lot_b = factory.LazyAttribute(lambda lot: f"{lot.number}-B")
    expires_on = factory.LazyFunction(lambda: today() + timedelta(days=200))


class KitStockFactory(DjangoModelFactory[dispatch.KitStock]):
    class Meta:
        model = dispatch.KitStock

    crew = factory.SubFactory(CrewFactory)
    lot = factory.SubFactory(LotFactory)
    quantity = 10
    counted_at = factory.LazyFunction(now)
