"""Clients at the door: people with a session, devices with a token."""

import json
from datetime import timedelta
from typing import Any

from django.utils import timezone
from rest_framework.test import APIClient

from repairs.models import Account
from repairs.services.accounts import issue_device_token

API = "/api/v1"


def signed_in(account: Account) -> APIClient:
    """Return a client with the account's session."""
    client = APIClient()
    client.force_login(account)
    return client


def with_token(account: Account) -> APIClient:
    """Return a client that shows a device token of the account."""
    at = timezone.now()
    _, token = issue_device_token(
        account=account, label="invented phone", expires_at=at + timedelta(days=1), now=at
    )
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {token}")
    return client


def post_event(client: APIClient, event: Any, **headers: str) -> Any:
    """Post one CloudEvents event in structured mode."""
    body = event if isinstance(event, str | bytes) else json.dumps(event)
    kind = "application/cloudevents+json"
    return client.post(f"{API}/field-events", data=body, content_type=kind, headers=headers)


def post_batch(client: APIClient, events: Any, **headers: str) -> Any:
    """Post a batch of CloudEvents events."""
    body = events if isinstance(events, str | bytes) else json.dumps(events)
    kind = "application/cloudevents-batch+json"
    return client.post(f"{API}/field-events", data=body, content_type=kind, headers=headers)
