"""Has every reminder written anew from the facts."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction
from django.utils import timezone

from dispatch.models import Crew
from dispatch.services.remind import ask_for_order
from dispatch.services.reminder_sources import sources_of
from repairs.models import Repair


class Command(BaseCommand):
    help = (
        "Has the reminders of every repair, crew and package written anew from the facts, by due "
        "work. For use once after an upgrade or a restored backup; harmless at any time."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        now = timezone.now()
        count = 0
        for model in (Repair, Crew):
            for pk in model.objects.values_list("pk", flat=True).iterator():
                for source in sources_of(model):
                    with transaction.atomic():
                        ask_for_order(source=source, subject_id=str(pk), now=now)
                    count += 1
        self.stdout.write(f"{count} asked for; the workers do it.")
