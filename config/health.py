"""Is the process alive; is it of use."""

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from duework.selectors import queue_health
from qa.selectors import store_health


def healthz(_request: HttpRequest) -> JsonResponse:
    """Answer 200 while this process can serve; it asks nobody else."""
    return JsonResponse({"status": "alive"})


def readyz(_request: HttpRequest) -> JsonResponse:
    """Answer 200 when the database answers, is migrated, and a runner turns the crank."""
    checks: dict[str, object] = {}
    ready = False
    try:
        executor = MigrationExecutor(connection)
        waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
        checks = {"database": "answers", "migrations_waiting": len(waiting)}
        if not waiting:
            health = queue_health(now=timezone.now())
            checks["runners_alive"] = health.runners_alive
            checks["oldest_due_age_s"] = round(health.oldest_due_age_s, 1)
            checks["work"] = health.counts
            # Told, not decisive: a broken file is for a person, a restart would not mend it.
            checks["stored_files_broken"] = store_health(now=timezone.now()).broken
            ready = health.runners_alive > 0
    except DatabaseError as error:
        checks["database"] = f"does not answer: {type(error).__name__}"
    return JsonResponse({"ready": ready, **checks}, status=200 if ready else 503)
