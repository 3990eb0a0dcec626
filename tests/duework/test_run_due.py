"""The command for cron and for a first look."""

from collections.abc import Callable
from io import StringIO

import pytest
from django.core.management import call_command

from duework.models import WorkItem
from tests.duework.due_moments import LONG_AGO_S


@pytest.mark.django_db
def test_once_drains_and_says_how_much(due: Callable[..., WorkItem]) -> None:
    """It takes up all that is due, more than one drain's worth, and ends."""
    for number in range(105):
        due(str(number), after_s=LONG_AGO_S)
    said = StringIO()

    call_command("run_due", once=True, stdout=said)

    assert said.getvalue().strip() == "105 items of due work taken up."
