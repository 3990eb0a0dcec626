from tests.qa.calculations.asking import of, run


def test_a_manhole_takes_half_the_time_of_a_pipe() -> None:
    """EN 1610, edition of 2015."""
    pipe, manhole = (
        run("en1610-air-test", tested=tested)["result"]["time"]["value"]
        for tested in ("reach", "manhole")
    )

    assert manhole == pipe / 2


def test_a_contracts_shorter_time_does_not_count() -> None:
    """The practice's own stays, and the flag says so in words."""
    found = run("air-test", owner_time=of(1, "min"))

    assert found["result"]["time"] == run("air-test")["result"]["time"]
    assert "owner_time_shorter" in found["flag_words"]
