"""One id from the request through every log line it causes."""

import logging

import pytest
from django.test import Client

from config.request_id import HEADER, RequestIdFilter


@pytest.mark.django_db
def test_a_well_formed_id_of_the_caller_is_kept(client: Client) -> None:
    """A proxy's id comes back, so that both sides' logs can be joined."""
    assert client.get("/healthz", headers={HEADER: "proxy-12345678"})[HEADER] == "proxy-12345678"


@pytest.mark.django_db
@pytest.mark.parametrize("sent", ["", "short", "x" * 65, "two words", "line\tbreak"])
def test_any_other_id_is_replaced(client: Client, sent: str) -> None:
    """What could forge a log line is never taken over."""
    found = client.get("/healthz", headers={HEADER: sent})[HEADER]

    assert found != sent
    assert len(found) == 32


@pytest.mark.django_db
def test_the_line_django_logs_of_an_answer_carries_the_id(
    client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    """Django logs a 404 after the middleware has returned; the id is still there."""
    caplog.handler.addFilter(RequestIdFilter())
    with caplog.at_level(logging.WARNING, logger="django.request"):
        client.get("/nowhere", headers={HEADER: "request-404-seen"})

    assert [getattr(record, "request_id", "") for record in caplog.records] == ["request-404-seen"]
