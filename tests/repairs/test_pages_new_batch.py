"""A second batch: its steps begin anew on the page, and no old clock speaks for it."""

import pytest

from repairs.domain.clocks import Clocks
from repairs.domain.field_event import EventKind
from repairs.domain.progress import Progress, fold
from repairs.pages.clock_faces import faces
from repairs.pages.new_batch import done_for_the_batch, new_batch
from tests.event_example import an_event
from tests.repairs.test_pages_clock_faces import CLOCKS, CURE, NOW, WORKING

MIXING, INFLATED, DEFLATED, WITHDRAWN = (
    EventKind.MIXING_STARTED,
    EventKind.INFLATED,
    EventKind.DEFLATED,
    EventKind.WITHDRAWN,
)
FIRST = ((EventKind.HOLD_TEST_DONE, 0), (MIXING, 10), (INFLATED, 25), (DEFLATED, 180))


def progress(*steps: tuple[EventKind, float], unsure_s: float = 0.0) -> Progress:
    """Return what these steps, at these minutes, add up to."""
    return fold(
        [an_event(kind, minute, offset_high_s=unsure_s) for kind, minute in steps], attempt=1
    )


@pytest.mark.parametrize(
    ("steps", "unsure_s", "anew"),
    [
        ((*FIRST, (WITHDRAWN, 185), (MIXING, 200)), 0.0, True),  # the second sleeve
        (FIRST, 0.0, False),  # one sleeve only
        (((MIXING, 10), (INFLATED, 25), (MIXING, 26)), 0.0, False),  # a double tap late
        ((*FIRST, (MIXING, 200), (INFLATED, 215)), 0.0, False),  # inflated: its own cure runs
        ((*FIRST, (MIXING, 181)), 600.0, False),  # by such clocks the order is not known
    ],
)
def test_a_batch_is_new_after_a_sleeve_was_let_go(
    steps: tuple[tuple[EventKind, float], ...], unsure_s: float, anew: bool
) -> None:
    """Mixed after a deflation, and not inflated yet; only where the order is beyond doubt."""
    assert (new_batch(progress(*steps, unsure_s=unsure_s)) is not None) is anew


def test_the_steps_of_the_sleeve_before_do_not_count_for_it() -> None:
    """What was prepared stays done, what was done with the first sleeve is to be done again."""
    done = done_for_the_batch(progress(*FIRST, (WITHDRAWN, 185), (MIXING, 200)))

    assert done == {EventKind.HOLD_TEST_DONE, MIXING}


def test_no_old_clock_speaks_for_a_new_batch() -> None:
    """Neither 'held' nor 'minutes left' of the first sleeve stands over the second."""
    second = progress(*FIRST, (WITHDRAWN, 185), (MIXING, 200))

    (face,) = faces(second, Clocks(WORKING, CURE), "UTC", NOW)

    assert (face.name, face.state, face.until) == ("Working time", "cannot-tell", None)
    assert face.big == "mixed at 12:20"
    assert faces(second, CLOCKS, "UTC", NOW) == (face,)
