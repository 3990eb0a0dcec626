"""What stands in the records that are corrected in place becomes their first edition.

Dated now, since nobody knows when it was last written: the history tells what is dated back.
"""

from django.db import migrations
from django.utils import timezone

from repairs.domain.plain import plain

COLUMNS = {
    ("workorder", "work order"): ("customer_id", "number", "requirement_set_id", "promised_by"),
    ("site", "site"): ("customer_id", "ref", "street", "time_zone"),
    ("accesspoint", "access point"): ("site_id", "ref", "latitude", "longitude"),
    ("run", "run"): (
        "site_id", "ref", "upstream_id", "downstream_id", "diameter_mm", "material", "length_m",
        "depth_m", "groundwater_above_invert_m", "host_limit_kpa",
    ),
    ("repair", "repair"): (
        "work_order_id", "run_id", "ref", "defect_code", "defect_extent_m", "datum_id",
        "distance_m", "clock_from", "clock_to", "inspection_filmed_on", "inspection_film_ref",
        "infiltration", "offset_mm", "deformation_percent", "roots", "deposits", "void_behind",
        "connection_in_sleeve", "not_before", "not_after", "windows", "priority", "due_on", "note",
    ),
}  # fmt: skip


def write(apps, schema_editor):
    now, edition = timezone.now(), apps.get_model("repairs", "Edition")
    for (name, kind), columns in COLUMNS.items():
        rows = apps.get_model("repairs", name).objects.values("pk", *columns)
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
    dependencies = [("repairs", "0008_editions")]
    operations = [migrations.RunPython(write, migrations.RunPython.noop)]
