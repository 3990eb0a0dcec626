"""Who turns the crank: a row a runner, touched at every tick."""

from django.db import models


class RunnerHeartbeat(models.Model):
    """When a runner was last seen; a queue with work and no fresh row is stalled."""

    runner = models.CharField(max_length=120, primary_key=True)
    started_at = models.DateTimeField()
    beat_at = models.DateTimeField(db_index=True)
    handled = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        """Return the runner's name."""
        return self.runner
