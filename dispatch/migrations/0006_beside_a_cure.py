"""An assignment beside another one overlaps it, as it is meant to: the constraint lets it.

Whether it may stand beside the other (the same crew, a second packer that serves) is the
service's question; see `dispatch/domain/clash.py`.
"""

from django.db import migrations

CONSTRAINT = "no_double_booking"


def _put(schema_editor, condition):
    schema_editor.execute(f"ALTER TABLE dispatch_assignment DROP CONSTRAINT {CONSTRAINT}")
    schema_editor.execute(
        f"""
        ALTER TABLE dispatch_assignment ADD CONSTRAINT {CONSTRAINT}
        EXCLUDE USING gist (crew_id WITH =, tstzrange(starts_at, ends_at) WITH &&)
        WHERE ({condition})
        """
    )


def let(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        _put(schema_editor, "cancelled_at IS NULL AND beside_id IS NULL")


def forbid(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        _put(schema_editor, "cancelled_at IS NULL")


class Migration(migrations.Migration):
    dependencies = [("dispatch", "0005_plans")]
    operations = [migrations.RunPython(let, forbid)]
