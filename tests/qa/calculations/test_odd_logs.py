from tests.qa.calculations.asking import faults, run


def test_a_log_in_the_wrong_unit_is_asked_about_not_converted() -> None:
    """32.75 under psi would fit in kPa: a question."""
    found = run("implausible-log")["result"]["oddities"]

    assert [odd["flag"] for odd in found] == ["ends_before_cure", "wrong_unit"]
    assert "kPa" in found[1]["words"]
    assert "expected_low, expected_high" in faults("implausible-log", expected_low=None)
