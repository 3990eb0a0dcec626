"""One defect to be repaired with one or more sleeves."""

import uuid

from django.db import models

from repairs.domain.infiltration import Infiltration
from repairs.domain.priority import Priority
from repairs.domain.progress import Stage
from repairs.models.access_point import AccessPoint
from repairs.models.kept import Kept
from repairs.models.run import Run
from repairs.models.work_order import WorkOrder


class Repair(Kept):
    """What was ordered and what the inspection said of the defect.

    `windows` are the times in which work is allowed, by reason
    (`repairs.domain.work_windows`); together with `not_before` and `not_after` all of
    them hold. `due_on` is the last day it is in time; without one the order's promise counts.

    `stage` and `on_hold` repeat what the fold of the field events says, so that
    lists can be filtered; only the recording service writes them. `changed_at` is
    when the office last corrected the order; a prescription from before it is void.
    """

    correctable = (
        "defect_code",
        "defect_extent_m",
        "datum_id",
        "distance_m",
        "clock_from",
        "clock_to",
        "inspection_filmed_on",
        "inspection_film_ref",
        "infiltration",
        "offset_mm",
        "deformation_percent",
        "roots",
        "deposits",
        "void_behind",
        "connection_in_sleeve",
        "not_before",
        "not_after",
        "windows",
        "priority",
        "due_on",
        "note",
    )
    kept = ("work_order_id", "run_id", "ref", *correctable)

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    work_order = models.ForeignKey(WorkOrder, on_delete=models.PROTECT, related_name="repairs")
    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="repairs")
    ref = models.CharField(max_length=60)

    defect_code = models.CharField(max_length=10)
    defect_extent_m = models.FloatField()
    datum = models.ForeignKey(AccessPoint, on_delete=models.PROTECT, related_name="+")
    distance_m = models.FloatField()
    clock_from = models.PositiveSmallIntegerField(null=True, blank=True)
    clock_to = models.PositiveSmallIntegerField(null=True, blank=True)
    inspection_film_ref = models.CharField(max_length=200, blank=True)
    inspection_filmed_on = models.DateField(null=True, blank=True)

    infiltration = models.CharField(
        max_length=12, choices=[(word.value, word.value) for word in Infiltration], blank=True
    )
    offset_mm = models.FloatField(null=True, blank=True)
    deformation_percent = models.FloatField(null=True, blank=True)
    roots = models.BooleanField(null=True, blank=True)
    deposits = models.BooleanField(null=True, blank=True)
    void_behind = models.BooleanField(null=True, blank=True)
    connection_in_sleeve = models.BooleanField(null=True, blank=True)

    not_before = models.DateTimeField(null=True, blank=True)
    not_after = models.DateTimeField(null=True, blank=True)
    windows = models.JSONField(default=list, blank=True)
    priority = models.CharField(
        max_length=1,
        choices=[(word.value, word.value) for word in Priority],
        default=Priority.B.value,
    )
    due_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)

    attempt = models.PositiveSmallIntegerField(default=1)
    stage = models.CharField(
        max_length=12,
        choices=[(stage.value, stage.value) for stage in Stage],
        default=Stage.ORDERED.value,
        db_index=True,
    )
    on_hold = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["work_order", "ref"], name="repair_ref_once_a_work_order"
            ),
            models.CheckConstraint(
                condition=models.Q(defect_extent_m__gte=0, distance_m__gte=0),
                name="defect_lies_in_the_run",
            ),
        ]

    def __str__(self) -> str:
        return self.ref
