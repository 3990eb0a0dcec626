"""A contract from before durations were learned can still be read."""

from importlib import import_module

import pytest
from django.apps import apps

from repairs.domain.limits import limits_from
from tests.contract_example import LIMITS
from tests.factories import RequirementSetFactory

add_them = import_module("repairs.migrations.0005_limits_of_durations").add_them
NEW = ("setup_min", "finish_min", "cure_margin_min")


@pytest.mark.django_db
def test_an_older_contract_gets_the_usual_times_and_keeps_its_own() -> None:
    """Two of three limits are missing; the third is the contract's own number."""
    older = {name: each for name, each in LIMITS.items() if name not in NEW}
    own = {"value": 70.0, "source": "the contract"}
    row = RequirementSetFactory(name="Invented older contract", limits=older | {"setup_min": own})
    with pytest.raises(ValueError, match=r"limits\.finish_min"):
        limits_from(row.limits)

    add_them(apps, None)
    row.refresh_from_db()
    limits = limits_from(row.limits)

    assert (limits.setup_min, limits.finish_min, limits.cure_margin_min) == (70, 25, 20)
    assert row.limits["finish_min"]["source"].startswith("common practice, no source")
    assert row.limits["hold_test_min"] == LIMITS["hold_test_min"]
