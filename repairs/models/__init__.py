"""The records of what is repaired and what happened; one record a file."""

from repairs.models.access_point import AccessPoint
from repairs.models.account import Account
from repairs.models.chart import Chart
from repairs.models.clock_reading import ClockReading
from repairs.models.customer import Customer
from repairs.models.device_token import DeviceToken
from repairs.models.edition import Edition
from repairs.models.field_event import FieldEvent
from repairs.models.kept import Kept
from repairs.models.kit_type import KitType
from repairs.models.prescription import Prescription
from repairs.models.repair import Repair
from repairs.models.requirement_set import RequirementSet
from repairs.models.resin_system import ResinSystem
from repairs.models.run import Run
from repairs.models.site import Site
from repairs.models.work_order import WorkOrder

__all__ = [
    "AccessPoint",
    "Account",
    "Chart",
    "ClockReading",
    "Customer",
    "DeviceToken",
    "Edition",
    "FieldEvent",
    "Kept",
    "KitType",
    "Prescription",
    "Repair",
    "RequirementSet",
    "ResinSystem",
    "Run",
    "Site",
    "WorkOrder",
]
