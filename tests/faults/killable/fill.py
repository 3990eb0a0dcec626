"""``python -m tests.faults.killable.fill KIND=COUNT...``: writes due rows as the web does."""

import os
import sys
from datetime import timedelta

import django
from django.conf import settings
from django.core.management import call_command
from django.db import transaction
from django.utils import timezone

from config import apps as wiring


def main(wanted: list[str]) -> None:
    """Make the tables where they are missing, then write the rows in one transaction."""
    django.setup()
    if settings.BROKER_URL:
        wiring.import_module("config.celery")
    call_command("migrate", run_syncdb=True, verbosity=0)
    services = wiring.import_module("duework.services")
    due_at = timezone.now() + timedelta(seconds=float(os.environ.get("KILLABLE_DUE_IN_S", "0")))
    with transaction.atomic():
        for kind, count in (pair.split("=") for pair in wanted):
            for number in range(int(count)):
                services.schedule(
                    kind=kind,
                    subject_type="test",
                    subject_id=number,
                    dedupe_key=f"{kind}:{number}",
                    due_at=due_at,
                    payload={"folder": os.environ.get("KILLABLE_FOLDER", "")},
                )


if __name__ == "__main__":
    main(sys.argv[1:])
