"""A plan for some days: a proposal until somebody publishes it."""

import uuid

from django.db import models
from django.db.models import Q

from repairs.models import Account


class Plan(models.Model):
    """Who does which repair when, as it was found, with everything it came from.

    Nobody is sent by a draft. Its stops are never changed: another thought is another draft,
    `derived_from` this one.

    Parameters
    ----------
    changes : list
        What was supposed beside the rows, such as a crew that is late; empty where it
        was planned from the rows as they stood (`dispatch.domain.what_if`).
    zone : str
        The one in which the first day begins at `origin`; words about times are in it.
    problem : bytes
        What was planned, as `dispatch.plan_facts.stored_problem` packs it.
    inputs_hash : str
        SHA-256 of the problem: two plans with the same one answer the same question.
    told : dict
        By repair the live assignment that stood when it was planned. Another one now means
        that somebody decided meanwhile.
    figures : dict
        Cost and its parts, by the names of `dispatch.domain.plan.plan.Cost`.
    crews_left_out : list
        Crews without a place in it, each with code and words.
    differences : list
        What is different from what crews were told so far, each with its cause.
    """

    DRAFT, PUBLISHED, SUPERSEDED = "draft", "published", "superseded"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    starts_on = models.DateField()
    days = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=100, blank=True)
    derived_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="derived"
    )
    changes = models.JSONField(default=list)
    state = models.CharField(
        max_length=12,
        choices=[(word, word) for word in (DRAFT, PUBLISHED, SUPERSEDED)],
        default=DRAFT,
    )
    origin = models.DateTimeField()
    zone = models.CharField(max_length=60, default="UTC")
    planned_at = models.DateTimeField()
    planned_by = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="+")
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        Account, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    seed = models.PositiveIntegerField()
    engine = models.CharField(max_length=60)
    method = models.CharField(max_length=20)
    weights = models.JSONField()
    inputs_hash = models.CharField(max_length=64)
    travel_source = models.CharField(max_length=12)
    figures = models.JSONField()
    trace = models.JSONField(default=list)
    words = models.TextField(blank=True)
    told = models.JSONField(default=dict)
    crews_left_out = models.JSONField(default=list)
    differences = models.JSONField(default=list)
    problem = models.BinaryField()

    class Meta:
        ordering = ["-planned_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(days__gte=1), name="plan_has_days"),
        ]
        indexes = [models.Index(fields=["state", "starts_on"], name="plan_by_state")]
