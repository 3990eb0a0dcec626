"""``manage.py demo``: one invented working day, from order to package, through the front door."""

import os
import shutil
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from rich.console import Console

from config.demo.account import Account
from config.demo.cast import CAST, open_accounts
from config.demo.day import Day
from config.demo.story import ACTS, play
from config.processes import (
    Processes,
    free_port,
    wait_until_ready,
    web_command,
    worker_command,
)
from config.start import ready_database
from repairs.models import Account as AccountRow

FOLDER = "demo"


class Command(BaseCommand):
    help = (
        "Plays one invented working day: starts the real web server and worker on an empty "
        "database, lets a dispatcher, two crews and a client use the HTTP API, prints what "
        "happened and why things were refused, and leaves the closeout packages below "
        "var/demo/packages. It wants an empty database and leaves nothing running. With "
        "CUREWRIGHT_DATABASE_URL and CUREWRIGHT_BROKER_URL set it runs on PostgreSQL, Redis and "
        "Celery workers instead of SQLite and a ticker."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--workers", type=int, default=1, help="worker processes")
        parser.add_argument(
            "--kill-workers",
            action="store_true",
            help="kill a worker with SIGKILL after each repair's post, to show nothing is lost",
        )
        parser.add_argument(
            "--keep-logins",
            action="store_true",
            help="print the invented logins for manage.py serve",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        began = time.monotonic()
        console = Console()
        folder = settings.VAR_DIR / FOLDER
        ready_database()
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        if AccountRow.objects.exists():
            raise CommandError(
                "The database is not empty. The demonstration wants one of its own: set "
                "CUREWRIGHT_DATABASE_URL to an empty database, or use 'make demo'."
            )
        passwords = open_accounts()
        self._play(console, folder, passwords, options)
        if options["keep_logins"]:
            self._print_logins(console, passwords)
        took_s = time.monotonic() - began
        console.print(f"\n[bold]Done in {took_s:.0f} s.[/bold] Everything in it is invented.")

    def _play(
        self, console: Console, folder: Path, passwords: dict[str, str], options: dict[str, Any]
    ) -> None:
        port = free_port()
        base_url = f"http://127.0.0.1:{port}"
        with Processes(_environment(), folder / "logs") as processes:
            processes.start("web", web_command("127.0.0.1", port, 2))
            for number in range(options["workers"]):
                processes.start(f"worker-{number + 1}", worker_command())
            try:
                wait_until_ready(base_url, processes)
                day = Day(
                    base_url=base_url,
                    passwords=passwords,
                    folder=folder,
                    account=Account(console, len(ACTS)),
                    now=datetime.now(UTC).replace(microsecond=0),
                    on_posting=_killer(processes) if options["kill_workers"] else lambda: None,
                )
                play(day)
            except TimeoutError as error:
                raise CommandError(f"{error}. The logs are in {folder / 'logs'}.") from error

    def _print_logins(self, console: Console, passwords: dict[str, str]) -> None:
        console.print("\nInvented logins:")
        for person in CAST:
            console.print(
                f"  {person.username:6} {passwords[person.username]}  {person.role.value}"
            )


def _environment() -> dict[str, str]:
    """Return what the started processes need beside the settings of this one."""
    return {
        "CUREWRIGHT_DATABASE_URL": settings.DATABASE_URL,
        "CUREWRIGHT_VAR": str(settings.VAR_DIR),
        "CUREWRIGHT_MEDIA": str(settings.MEDIA_ROOT),
        "CUREWRIGHT_INVENTED_DATA": "yes",
        "CUREWRIGHT_CONTRACTOR": "Invented Pipe Repairs",
        "CUREWRIGHT_TICK_S": os.environ.get("CUREWRIGHT_TICK_S", "1"),
        "CUREWRIGHT_LEASE_S": os.environ.get("CUREWRIGHT_LEASE_S", "5"),
        "CUREWRIGHT_LOG_LEVEL": "WARNING",
    }


def _killer(processes: Processes) -> Callable[[], None]:
    def kill() -> None:
        name = next(name for name in processes.running if name.startswith("worker"))
        processes.kill(name)
        processes.restart(name)

    return kill
