"""Who may be at the door: the roles of people and devices."""

from enum import StrEnum


class Role(StrEnum):
    """What an account may do; each account has exactly one."""

    DISPATCHER = "dispatcher"
    CREW_LEAD = "crew_lead"
    CREW_MEMBER = "crew_member"
    REVIEWER = "reviewer"
    CLIENT = "client"
    ADMINISTRATOR = "administrator"
    SERVICE = "service"


OFFICE = frozenset({Role.DISPATCHER, Role.REVIEWER, Role.ADMINISTRATOR, Role.SERVICE})
"""Roles of the contractor's office: they see every customer's work."""

CREW = frozenset({Role.CREW_LEAD, Role.CREW_MEMBER})
"""Roles in the street: they see the work assigned to their crew."""
