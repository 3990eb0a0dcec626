"""Asks a service of ways over HTTP; docs/durations_and_travel.md says what is sent."""

import json
import time

import httpx
from django.conf import settings

from dispatch.channels.safe_address import NotAllowedError, pinned
from dispatch.domain.plan.asked_ways import NotUnderstoodError, Pair, Question, read_answer
from dispatch.domain.plan.travel import Way

MOST_BYTES = 20_000_000


class NoWaysError(Exception):
    """The service gave no table: it is down, slow, refuses, or answers something else."""


def ask(question: Question) -> dict[Pair, Way]:
    """Return the ways a service tells; one request, no redirects, within the time allowed.

    Raises
    ------
    NoWaysError
        Saying why, in a few words for the log.
    """
    try:
        return read_answer(json.loads(_answer(question)), question)
    except NotAllowedError as error:
        raise NoWaysError(f"its address may not be asked: {error}") from error
    except NotUnderstoodError as error:
        raise NoWaysError(f"its answer is no table as asked: {error}") from error
    except (ValueError, RecursionError) as error:
        raise NoWaysError("its answer is no JSON") from error
    except (httpx.HTTPError, OSError) as error:
        raise NoWaysError(f"no answer: {type(error).__name__}") from error


def _answer(question: Question) -> bytes:
    until = time.monotonic() + settings.WAYS_TIMEOUT_S
    target = pinned(settings.WAYS_URL, allow_private=settings.WAYS_PRIVATE)
    headers = {"Host": target.host, "Accept": "application/json"}
    if settings.WAYS_TOKEN:
        headers["Authorization"] = f"Bearer {settings.WAYS_TOKEN}"
    with (
        httpx.Client(timeout=settings.WAYS_TIMEOUT_S, trust_env=False) as client,
        client.stream(
            "POST",
            target.url,
            json=question.as_json(),
            headers=headers,
            extensions={"sni_hostname": target.name},
            follow_redirects=False,
        ) as answer,
    ):
        if not httpx.codes.is_success(answer.status_code):
            raise NoWaysError(f"answered {answer.status_code}, not 2xx")
        return _body(answer, until)


def _body(answer: httpx.Response, until: float) -> bytes:
    """Read an answer, but neither for ever nor without end."""
    body = bytearray()
    for piece in answer.iter_bytes():
        body += piece
        if len(body) > MOST_BYTES:
            raise NoWaysError(f"more than {MOST_BYTES} bytes")
        if time.monotonic() > until:
            raise NoWaysError("slower than it may be")
    return bytes(body)
