"""The one clock of due work: every lease and due time is judged by it."""

from datetime import datetime

from django.db import connection
from django.utils import timezone


def db_now() -> datetime:
    """Return the database's present time (aware, UTC).

    On PostgreSQL several hosts share the rows, and their clocks may differ by
    seconds: the server's clock decides for all. SQLite lives on one host, whose
    clock it is anyway.
    """
    if connection.vendor != "postgresql":
        return timezone.now()
    with connection.cursor() as cursor:
        # clock_timestamp() moves on inside a transaction; now() would stand still.
        cursor.execute("SELECT clock_timestamp()")
        found: datetime = cursor.fetchone()[0]
    return found
