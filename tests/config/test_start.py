"""What stands in the way of a start is said in one line."""

import os
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from config.processes import free_port
from config.start import make_folders, refuse_taken_port

ROOT = Path(__file__).resolve().parents[2]


def test_a_taken_port_is_told_before_anything_starts() -> None:
    """The line names address and option."""
    with socket.socket() as somebody:
        somebody.bind(("127.0.0.1", 0))
        somebody.listen()
        port = somebody.getsockname()[1]

        with pytest.raises(CommandError, match=rf"127\.0\.0\.1:{port} cannot .*--port"):
            call_command("serve", port=port)


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "0.0.0.0"])  # noqa: S104 - as typed
def test_a_free_port_is_free(host: str) -> None:
    """Nobody listens, nothing is said; and the port is free afterwards."""
    port = free_port()

    refuse_taken_port(host, port)
    refuse_taken_port(host, port)


@pytest.mark.parametrize(("host", "port"), [("127.0.0.1", 70_000), ("no.such.host.invalid", 8000)])
def test_an_address_that_is_none_is_told(host: str, port: int) -> None:
    """A port beyond all ports, a host nobody knows."""
    with pytest.raises(CommandError, match="cannot be listened on"):
        refuse_taken_port(host, port)


def test_a_missing_folder_is_made(settings: Any, tmp_path: Path) -> None:
    """With all the folders above it; one that is there is left alone."""
    settings.VAR_DIR = tmp_path / "a" / "b"

    make_folders()
    make_folders()

    assert settings.VAR_DIR.is_dir()


def test_a_folder_that_cannot_be_made_is_told(settings: Any, tmp_path: Path) -> None:
    """The line names the folder and the setting."""
    (tmp_path / "file").write_text("in the way")
    settings.VAR_DIR = tmp_path / "file" / "var"

    with pytest.raises(CommandError, match="CUREWRIGHT_VAR"):
        make_folders()


@pytest.mark.slow
@pytest.mark.parametrize("command", [["serve", "--port", "0"], ["demo"]])
def test_a_database_that_does_not_answer_is_one_line(command: list[str], tmp_path: Path) -> None:
    """No traceback: what cannot be used, why, and which setting to change."""
    # Port 9 of this machine is closed: the discard service is long out of use.
    settings = {
        "CUREWRIGHT_DEBUG": "yes",
        "CUREWRIGHT_VAR": str(tmp_path),
        "CUREWRIGHT_DATABASE_URL": "postgres://nobody@127.0.0.1:9/nothing",
    }

    ended = subprocess.run(  # noqa: PLW1510 - that it fails is the point
        [sys.executable, "manage.py", *command],
        cwd=ROOT,
        env={**os.environ, **settings},
        capture_output=True,
        text=True,
        timeout=60,
    )

    lines = [line for line in ended.stderr.splitlines() if line.strip()]
    assert ended.returncode == 1
    assert "CUREWRIGHT_DATABASE_URL" in lines[-1]
    assert len(lines) == 1, ended.stderr
