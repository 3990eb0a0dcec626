"""What stands of gear and certificates becomes their first edition, dated now."""

from django.db import migrations
from django.utils import timezone

from repairs.domain.plain import plain

COLUMNS = {
    "equipment": (
        "kind", "serial", "crew_id", "diameter_min_mm", "diameter_max_mm", "length_m", "limit_kpa",
        "test_due_on", "out_of_use",
    ),
    "qualification": ("member_id", "kind", "reference", "expires_on"),
}  # fmt: skip


def write(apps, schema_editor):
    now, edition = timezone.now(), apps.get_model("repairs", "Edition")
    for kind, columns in COLUMNS.items():
        rows = apps.get_model("dispatch", kind).objects.values("pk", *columns)
        edition.objects.bulk_create(
            (
                edition(
                    kind=kind,
                    subject=row.pop("pk"),
                    values={column: plain(value) for column, value in row.items()},
                    made_at=now,
                )
                for row in rows
            ),
            batch_size=500,
        )


class Migration(migrations.Migration):
    dependencies = [
        ("dispatch", "0011_no_double_booking_on_both"),
        ("repairs", "0009_first_editions"),
    ]
    operations = [migrations.RunPython(write, migrations.RunPython.noop)]
