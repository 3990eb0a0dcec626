"""``manage.py serve``: web server, ticker and workers in one command."""

import os
import signal
import time
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.processes import Processes, wait_until_ready, web_command, worker_command
from config.start import ready_database, refuse_taken_port

LOOK_EVERY_S = 1.0


class Command(BaseCommand):
    help = (
        "Starts the web server and the workers, migrates the database first, and keeps them "
        "running: one that dies is started again. Without CUREWRIGHT_BROKER_URL the workers are "
        "tickers and nothing else is needed; with it they are Celery workers. Ctrl-C or SIGTERM "
        "stops all of them."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")
        parser.add_argument("--web", type=int, default=2, help="web processes")
        parser.add_argument("--workers", type=int, default=1, help="worker processes")

    def handle(self, *_args: Any, **options: Any) -> None:
        refuse_taken_port(options["host"], options["port"])
        ready_database()
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        base_url = f"http://{options['host']}:{options['port']}".replace("0.0.0.0", "127.0.0.1")  # noqa: S104
        # Links in messages lead here, unless the settings name where people come from.
        known = os.environ.get("CUREWRIGHT_PUBLIC_URL") or base_url
        with Processes({"CUREWRIGHT_PUBLIC_URL": known}) as processes:
            processes.start("web", web_command(options["host"], options["port"], options["web"]))
            for number in range(options["workers"]):
                processes.start(f"worker-{number + 1}", worker_command())
            try:
                wait_until_ready(base_url, processes)
                self.stdout.write(f"Curewright serves {base_url}  (Ctrl-C stops it)")
                self.stdout.write(f"Database: {settings.DATABASES['default']['ENGINE']}")
                self._watch(processes)
            except TimeoutError as error:
                raise CommandError(str(error)) from error
            except KeyboardInterrupt:
                self.stdout.write("Stopping.")

    def _watch(self, processes: Processes) -> None:
        while True:
            time.sleep(LOOK_EVERY_S)
            for name in processes.ended():
                self.stderr.write(f"{name} ended; starting it again.")
                processes.running.pop(name)
                processes.restart(name)
