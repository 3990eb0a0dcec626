"""The door of the test-only app: a write is accepted when it and its due work are committed."""

from datetime import timedelta

from django.db import InterfaceError, OperationalError, transaction
from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.utils import timezone

from duework.services import schedule
from tests.faults.killable.consequences import CONSEQUENCES
from tests.faults.killable.models import Letter


def letters(request: HttpRequest) -> HttpResponse:
    """Store a letter and what follows from it, once, however often it is sent."""
    key = request.body.decode()
    try:
        with transaction.atomic():
            _, new = Letter.objects.get_or_create(key=key)
            if new:
                _schedule(key)
    except (OperationalError, InterfaceError):
        return HttpResponse("busy", status=503)
    return HttpResponse("stored", status=201 if new else 200)


def _schedule(key: str) -> None:
    now = timezone.now()
    for name, after_s in CONSEQUENCES.items():
        schedule(
            kind="instant" if name == "timer" else name,
            subject_type="letter",
            subject_id=key,
            dedupe_key=f"{key}:{name}",
            due_at=now + timedelta(seconds=after_s),
        )


urlpatterns = [path("letters", letters)]
