"""Posts a notice as a signed CloudEvents event; a text-message gateway is such an address."""

import json
from typing import Any

import httpx
from django.conf import settings

from dispatch.channels.outgoing import NoAnswerError, Outgoing, UndeliverableError
from dispatch.channels.safe_address import NotAllowedError, pinned
from dispatch.domain.webhook_signature import signature


def send(outgoing: Outgoing) -> None:
    """Post it once: no redirects, a short time-out, only to an address outside the house."""
    body = json.dumps(event_of(outgoing), separators=(",", ":")).encode()
    at_s = int(outgoing.sent_at.timestamp())
    headers = {
        "Content-Type": "application/cloudevents+json",
        "webhook-id": outgoing.id,
        "webhook-timestamp": str(at_s),
        "webhook-signature": signature(
            outgoing.secret, message_id=outgoing.id, at_s=at_s, body=body
        ),
    }
    try:
        target = pinned(outgoing.address, allow_private=settings.WEBHOOK_PRIVATE)
        with (
            httpx.Client(timeout=settings.WEBHOOK_TIMEOUT_S, trust_env=False) as client,
            client.stream(
                "POST",
                target.url,
                content=body,
                headers={**headers, "Host": target.host},
                extensions={"sni_hostname": target.name},
                follow_redirects=False,
            ) as answer,
        ):
            status = answer.status_code
    except NotAllowedError as error:
        raise UndeliverableError(str(error)) from error
    except (httpx.HTTPError, OSError) as error:
        raise NoAnswerError(f"no answer: {type(error).__name__}") from error
    if not httpx.codes.is_success(status):
        raise UndeliverableError(f"answered {status}, not 2xx")


def event_of(outgoing: Outgoing) -> dict[str, Any]:
    """Return the body, the same for every attempt."""
    return {
        "specversion": "1.0",
        "id": outgoing.id,
        "source": outgoing.source,
        "type": outgoing.kind,
        "time": outgoing.told_at.isoformat(),
        "datacontenttype": "application/json",
        "data": dict(outgoing.data),
    }
