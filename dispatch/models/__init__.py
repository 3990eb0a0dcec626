"""The records of who goes where and when; one record a file."""

from dispatch.models.assignment import Assignment
from dispatch.models.call import Call
from dispatch.models.contact import Contact
from dispatch.models.crew import Crew
from dispatch.models.crew_member import CrewMember
from dispatch.models.equipment import Equipment
from dispatch.models.kit_stock import KitStock
from dispatch.models.lot import Lot
from dispatch.models.message import Message
from dispatch.models.notice import Notice
from dispatch.models.on_call import OnCall
from dispatch.models.qualification import Qualification
from dispatch.models.set_aside import SetAside

__all__ = [
    "Assignment",
    "Call",
    "Contact",
    "Crew",
    "CrewMember",
    "Equipment",
    "KitStock",
    "Lot",
    "Message",
    "Notice",
    "OnCall",
    "Qualification",
    "SetAside",
]
