"""``manage.py worker_alive``: the health check of a worker container."""

import socket
from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from duework.models import RunnerHeartbeat
from duework.selectors import ALIVE_WITHIN_S


class Command(BaseCommand):
    help = (
        "Ends with 0 when a runner on this host was seen within the last 30 s, else with 1. "
        "Made for the health check of a container; /readyz tells the same of all hosts together."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        since = timezone.now() - timedelta(seconds=ALIVE_WITHIN_S)
        mine = RunnerHeartbeat.objects.filter(
            runner__startswith=socket.gethostname(), beat_at__gte=since
        )
        if not mine.exists():
            raise CommandError(f"no runner of {socket.gethostname()} was seen for 30 s")
        self.stdout.write("alive")
