"""Celery is a doorbell: what it must never do is decided by its settings."""

import threading

import celery
import pytest

from config.celery import app


@pytest.mark.parametrize(
    ("setting", "value"),
    [
        ("accept_content", ["json"]),  # a message can never run code
        ("task_acks_late", True),  # a killed child's message comes back
        ("task_reject_on_worker_lost", True),  # likewise when only the child died
        ("worker_prefetch_multiplier", 1),  # nobody hoards messages
        ("task_ignore_result", True),  # results are rows, not messages
    ],
)
def test_the_doorbells_settings(setting: str, value: object) -> None:
    """Each setting has its reason beside it."""
    assert app.conf[setting] == value


def test_lost_messages_are_found_within_seconds() -> None:
    """By default Celery's Redis transport looks every hundred seconds."""
    options = app.conf.broker_transport_options

    assert options["unacked_restore_interval"] * options["unacked_restore_throttle"] == 1
    assert options["visibility_timeout"] < 3_600


def test_every_thread_finds_our_app() -> None:
    """A web thread that rings would otherwise ring at a default broker that does not exist."""
    found: list[str] = []
    thread = threading.Thread(target=lambda: found.append(celery.current_app.main))
    thread.start()
    thread.join()

    assert found == ["curewright"]
