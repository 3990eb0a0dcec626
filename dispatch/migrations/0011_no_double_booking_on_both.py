"""Both databases refuse two live assignments of one crew that overlap, up to when it is free.

A crew that was done sooner than it was told is free from `freed_at` on; what it was told stays.
SQLite has no exclusion constraints, so the service's check stood alone there. Its triggers say
the same as the constraint, with the same name. Times are text in UTC there, which sorts as the
times do.
A later migration that has SQLite rebuild the table sets them anew.
"""

from django.db import migrations, models

NAME = "no_double_booking"
EVENTS = {
    "insert": "INSERT",
    "update": "UPDATE OF crew_id, starts_at, ends_at, freed_at, cancelled_at, beside_id",
}


def put(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        _constrain(schema_editor, "COALESCE(freed_at, ends_at)")
        return
    for short, event in EVENTS.items():
        schema_editor.execute(
            f"""
            CREATE TRIGGER {NAME}_{short} BEFORE {event} ON dispatch_assignment
            WHEN NEW.cancelled_at IS NULL AND NEW.beside_id IS NULL AND EXISTS (
              SELECT 1 FROM dispatch_assignment AS other
              WHERE other.crew_id = NEW.crew_id AND other.id <> NEW.id
                AND other.cancelled_at IS NULL AND other.beside_id IS NULL
                AND other.starts_at < COALESCE(NEW.freed_at, NEW.ends_at)
                AND NEW.starts_at < COALESCE(other.freed_at, other.ends_at)
            )
            BEGIN SELECT RAISE(ABORT, '{NAME}'); END
            """
        )


def take_away(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        _constrain(schema_editor, "ends_at")
        return
    for short in EVENTS:
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {NAME}_{short}")


def _constrain(schema_editor, until):
    schema_editor.execute(f"ALTER TABLE dispatch_assignment DROP CONSTRAINT {NAME}")
    schema_editor.execute(
        f"""
        ALTER TABLE dispatch_assignment ADD CONSTRAINT {NAME}
        EXCLUDE USING gist (crew_id WITH =, tstzrange(starts_at, {until}) WITH &&)
        WHERE (cancelled_at IS NULL AND beside_id IS NULL)
        """
    )


class Migration(migrations.Migration):
    dependencies = [("dispatch", "0010_wall_forecasts")]
    operations = [
        migrations.AddField(
            model_name="assignment",
            name="freed_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.RunPython(put, take_away),
    ]
