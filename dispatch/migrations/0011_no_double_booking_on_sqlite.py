"""SQLite, too, refuses two live assignments of one crew that overlap: by triggers.

It has no exclusion constraints, so the service's check stood alone there. These say the same as
the constraint of 0002 and 0006, with the same name, so rows written past the service are refused
on both databases. Times are text in UTC here, which sorts as the times do.
A later migration that has SQLite rebuild the table sets them anew.
"""

from django.db import migrations

NAME = "no_double_booking"
EVENTS = {
    "insert": "INSERT",
    "update": "UPDATE OF crew_id, starts_at, ends_at, cancelled_at, beside_id",
}


def add(apps, schema_editor):
    if schema_editor.connection.vendor != "sqlite":
        return
    for short, event in EVENTS.items():
        schema_editor.execute(
            f"""
            CREATE TRIGGER {NAME}_{short} BEFORE {event} ON dispatch_assignment
            WHEN NEW.cancelled_at IS NULL AND NEW.beside_id IS NULL AND EXISTS (
              SELECT 1 FROM dispatch_assignment AS other
              WHERE other.crew_id = NEW.crew_id AND other.id <> NEW.id
                AND other.cancelled_at IS NULL AND other.beside_id IS NULL
                AND other.starts_at < NEW.ends_at AND NEW.starts_at < other.ends_at
            )
            BEGIN SELECT RAISE(ABORT, '{NAME}'); END
            """
        )


def remove(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for short in EVENTS:
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {NAME}_{short}")


class Migration(migrations.Migration):
    dependencies = [("dispatch", "0010_wall_forecasts")]
    operations = [migrations.RunPython(add, remove)]
