"""PostgreSQL itself refuses two live assignments of one crew that overlap.

SQLite has no exclusion constraints; there the service checks the same inside
its IMMEDIATE transaction, which lets one writer in at a time.
"""

from django.db import migrations

CONSTRAINT = "no_double_booking"


def add(apps, schema_editor):
    if schema_editor.connection.vendor != "postgresql":
        return
    schema_editor.execute("CREATE EXTENSION IF NOT EXISTS btree_gist")
    schema_editor.execute(
        f"""
        ALTER TABLE dispatch_assignment ADD CONSTRAINT {CONSTRAINT}
        EXCLUDE USING gist (crew_id WITH =, tstzrange(starts_at, ends_at) WITH &&)
        WHERE (cancelled_at IS NULL)
        """
    )


def remove(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(f"ALTER TABLE dispatch_assignment DROP CONSTRAINT {CONSTRAINT}")


class Migration(migrations.Migration):
    dependencies = [("dispatch", "0001_initial")]
    operations = [migrations.RunPython(add, remove)]
