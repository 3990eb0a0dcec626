"""Handlers and followers."""

import pytest
from django.core.exceptions import ImproperlyConfigured

from duework import registry
from duework.domain.work import Context, Done, Item, Outcome

pytestmark = pytest.mark.usefixtures("calls")


def test_two_handlers_for_one_kind_are_refused() -> None:
    """Nobody could say which of them would run."""

    def other(_item: Item, _context: Context) -> Outcome:
        return Done()

    with pytest.raises(ImproperlyConfigured, match="'note' has two handlers"):
        registry.handler("note")(other)


def test_a_follower_without_handler_stops_the_start() -> None:
    """A typing error in a subscription shows at start-up."""
    registry.subscribe("progress-changed", "nto")

    with pytest.raises(ImproperlyConfigured, match="'progress-changed' is followed by 'nto'"):
        registry.load_handlers()
