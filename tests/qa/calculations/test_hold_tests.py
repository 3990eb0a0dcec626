from tests.qa.calculations.asking import of, run


def test_a_gauge_of_a_tenth_needs_five_minutes() -> None:
    """0.1 psi / 0.02 psi a minute, by hand."""
    assert run("hold-test-provable")["result"]["shortest"]["value"] == 5.0


def test_a_display_that_moved_on_a_coarse_gauge_cannot_tell() -> None:
    """One step down in five minutes may be a leak or a digit."""
    readings = [
        {"at": "2026-11-25T08:00:00Z", "pressure": of(5.0, "psi")},
        {"at": "2026-11-25T08:05:00Z", "pressure": of(4.9, "psi")},
    ]

    assert run("hold-test")["result"]["result"] == "holds"
    assert run("hold-test", readings=readings)["result"]["result"] == "cannot_tell"
