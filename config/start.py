"""What must be in place before a command starts anything, each said in one line if it is not."""

import socket
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import OperationalError, connection


def ready_database() -> None:
    """Make the folders and bring the database up to date, or say why not."""
    make_folders()
    try:
        call_command("migrate", verbosity=0)
    except OperationalError as error:
        where = settings.DATABASES["default"].get("HOST") or settings.DATABASES["default"]["NAME"]
        first = str(error).strip().splitlines()[0]
        raise CommandError(
            f"The database at {where} cannot be used: {first}. Set CUREWRIGHT_DATABASE_URL to one "
            "that answers."
        ) from error


def make_folders() -> None:
    """Make the folder for files, and the one of an SQLite database."""
    folders = [Path(settings.VAR_DIR)]
    if connection.vendor == "sqlite":
        folders.append(Path(settings.DATABASES["default"]["NAME"]).parent)
    for folder in folders:
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise CommandError(
                f"The folder {folder} cannot be made: {error.strerror}. Set CUREWRIGHT_VAR to a "
                "folder that may be written to."
            ) from error


def refuse_taken_port(host: str, port: int) -> None:
    """Say that somebody listens there already, before anything is started."""
    try:
        families = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
        with socket.socket(families[0][0], socket.SOCK_STREAM) as probe:
            # As a server does: a port that was left a moment ago is free.
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((host, port))
    except (OSError, OverflowError) as error:
        words = getattr(error, "strerror", None) or str(error)
        raise CommandError(
            f"{host}:{port} cannot be listened on: {words}. Choose another with --port."
        ) from error
