import pytest

from tests.qa.calculations.asking import faults, of, run


def test_both_or_neither_of_two_distances_is_refused() -> None:
    """Tape and other end are two different questions."""
    both = faults("distances", from_other_end=of(29, "m"))
    neither = faults("distances", tape=None)

    assert both.keys() == neither.keys() == {"tape, from_other_end"}


def test_distances_from_both_ends_close_on_the_length() -> None:
    """D + d' = L: 14.2 + 29.3 = 43.5 m."""
    found = run("distances", tape=None, from_other_end=of(29.3, "m"))

    assert found["result"]["agrees"] is True
    assert found["result"]["difference"]["value"] == pytest.approx(0, abs=1e-9)


def test_a_sleeve_of_four_feet_at_a_hundred_feet_covers_in_991_of_1000() -> None:
    """Published in the study's table: .991 for 4 ft at 100 ft."""
    found = run("location")["result"]

    assert found["coverage_probability"] == pytest.approx(0.991, abs=5e-4)
    assert found["standard_error"]["us"]["value"] == pytest.approx(0.38, abs=5e-3)
