"""How long a failed item waits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from duework.domain.backoff import JITTER_SHARE, LONGEST_S, wait_s


@pytest.mark.parametrize(
    ("attempts", "expected_s"),
    [
        (1, 2),  # the first failure: nearly at once
        (2, 4),  # doubles
        (7, 128),  # the last wait before the eighth and last attempt
        (9, 512),  # the last below the cap
        (10, 600),  # 1,024 s is past the cap
        (10_000, 600),  # no overflow, however often
    ],
)
def test_the_wait_doubles_up_to_ten_minutes(attempts: int, expected_s: float) -> None:
    """Without jitter the wait is min(2 ** attempts, 600) seconds."""
    assert wait_s(attempts, 0.0) == expected_s


@given(st.integers(1, 10_000), st.floats(0, 1, exclude_max=True))
def test_jitter_only_lengthens_and_by_a_tenth_at_most(attempts: int, share: float) -> None:
    """No random number makes an attempt earlier, or much later."""
    plain = wait_s(attempts, 0.0)

    assert plain <= wait_s(attempts, share) <= plain * (1 + JITTER_SHARE)
    assert wait_s(attempts, share) <= LONGEST_S * (1 + JITTER_SHARE)


@given(st.integers(1, 100), st.floats(0, 1, exclude_max=True))
def test_a_later_attempt_never_waits_less(attempts: int, share: float) -> None:
    """The wait grows with the attempts."""
    assert wait_s(attempts + 1, share) >= wait_s(attempts, share)


@pytest.mark.parametrize(("attempts", "share"), [(0, 0.5), (-1, 0.5), (1, 1.0), (1, -0.1)])
def test_nonsense_is_refused(attempts: int, share: float) -> None:
    """No attempt yet, or a share outside [0, 1), is a mistake of the caller."""
    with pytest.raises(ValueError, match=r"attempts|random_share"):
        wait_s(attempts, share)
