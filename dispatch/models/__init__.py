"""The records of who goes where and when; one record a file."""

from dispatch.models.assignment import Assignment
from dispatch.models.call import Call
from dispatch.models.contact import Contact
from dispatch.models.crew import Crew
from dispatch.models.crew_member import CrewMember
from dispatch.models.equipment import Equipment
from dispatch.models.kept_ways import KeptWays
from dispatch.models.kit_stock import KitStock
from dispatch.models.known_way import KnownWay
from dispatch.models.lot import Lot
from dispatch.models.message import Message
from dispatch.models.notice import Notice
from dispatch.models.on_call import OnCall
from dispatch.models.pin import Pin
from dispatch.models.plan import Plan
from dispatch.models.plan_left_out import PlanLeftOut
from dispatch.models.plan_prices import PlanPrices
from dispatch.models.plan_run import PlanRun
from dispatch.models.plan_stop import PlanStop
from dispatch.models.qualification import Qualification
from dispatch.models.set_aside import SetAside
from dispatch.models.wall_forecast import WallForecast
from dispatch.models.work_hours import WorkHours
from dispatch.models.yard import Yard

__all__ = [
    "Assignment",
    "Call",
    "Contact",
    "Crew",
    "CrewMember",
    "Equipment",
    "KeptWays",
    "KitStock",
    "KnownWay",
    "Lot",
    "Message",
    "Notice",
    "OnCall",
    "Pin",
    "Plan",
    "PlanLeftOut",
    "PlanPrices",
    "PlanRun",
    "PlanStop",
    "Qualification",
    "SetAside",
    "WallForecast",
    "WorkHours",
    "Yard",
]
