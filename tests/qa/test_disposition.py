"""Which decisions on a nonconformance begin the repair anew."""

import pytest

from qa.domain.disposition import TO_BE_DONE, Disposition, advice, opens_next_attempt
from repairs.domain.progress import LIVE_STAGES, NOT_BEGUN, Stage

SOMETHING_IN_THE_PIPE = {
    Stage.WET_OUT, Stage.IN_PLACE, Stage.CURING, Stage.CURED, Stage.WITHDRAWN, Stage.FILMED,
    Stage.CLOSED, Stage.ACCEPTED,
}  # fmt: skip
"""Resin is mixed: from here on a second go is another installation."""


@pytest.mark.parametrize("stage", Stage)
@pytest.mark.parametrize("disposition", Disposition)
def test_only_what_is_done_again_after_mixing_opens_an_attempt(
    disposition: Disposition, stage: Stage
) -> None:
    """Before mixing the attempt under way does it right; accepting and digging open none."""
    again = disposition in (Disposition.REWORK, Disposition.REPAIR_AGAIN)

    assert opens_next_attempt(disposition, stage) == (again and stage in SOMETHING_IN_THE_PIPE)


def test_every_stage_is_before_or_after_mixing_or_on_site() -> None:
    """No stage is left out of the table above."""
    assert set(Stage) == {*NOT_BEGUN, Stage.ON_SITE, Stage.PREPARED, *SOMETHING_IN_THE_PIPE}
    assert LIVE_STAGES < SOMETHING_IN_THE_PIPE


def test_accepting_leaves_nothing_to_be_done() -> None:
    """Whatever else was decided has to be carried out before the repair closes."""
    assert set(Disposition) - set(TO_BE_DONE) == {Disposition.ACCEPT_AS_IS}


def test_after_the_second_failure_the_engineer_is_thought_of() -> None:
    """Common practice, no source: a third attempt is nobody's own idea."""
    assert advice(attempt=1) == ""
    assert "engineer" in advice(attempt=2)
    assert advice(attempt=3) == advice(attempt=2)
