"""The ways out of the house."""

from enum import StrEnum


class Channel(StrEnum):
    """How an account is told beside its inbox; each has its file in `dispatch/channels`."""

    EMAIL = "email"
    WEBHOOK = "webhook"
