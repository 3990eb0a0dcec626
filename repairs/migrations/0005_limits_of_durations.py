"""Contracts from before durations were learned get the usual times to plan with."""

from django.db import migrations

LIMITS = {"setup_min": 45, "finish_min": 25, "cure_margin_min": 20}
SOURCE = "common practice, no source; added when durations began to be learned"


def add_them(apps, _editor):
    """Name each limit that a contract does not name yet; what it names stays."""
    for row in apps.get_model("repairs", "RequirementSet").objects.iterator():
        added = {name: {"value": value, "source": SOURCE} for name, value in LIMITS.items()}
        row.limits = {**added, **row.limits}
        row.save(update_fields=["limits"])


class Migration(migrations.Migration):
    dependencies = [("repairs", "0004_what_a_plan_needs")]

    operations = [migrations.RunPython(add_them, migrations.RunPython.noop)]
