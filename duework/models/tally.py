"""What is still known of done work whose rows were purged: its figures."""

from django.db import models


class Tally(models.Model):
    """How many purged items of a kind were done within a bound of lateness.

    Written only by the purge, in the transaction that takes the rows away, so
    tally plus rows is the whole of what was ever done, and never shrinks.
    """

    kind = models.CharField(max_length=80)
    bound_s = models.FloatField()
    done = models.PositiveBigIntegerField(default=0)
    late_s = models.FloatField(default=0.0)
    attempts = models.PositiveBigIntegerField(default=0)

    class Meta:
        """One row a kind and bound."""

        constraints = [
            models.UniqueConstraint(fields=["kind", "bound_s"], name="duework_one_tally_a_bound")
        ]
