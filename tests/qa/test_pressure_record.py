"""Logs of an attempt put together, with what the crew should be asked about them."""

import numpy as np

from qa.domain.pressure_csv import ParsedLog, parse_pressure_csv
from qa.domain.pressure_record import put_together, wall_readings
from qa.domain.rules.cure import cure_pressure_held
from qa.domain.verdict import Outcome
from tests.qa.facts_example import a_day, a_log

WINDOW_KPA = (29.0, 36.0)


def _log(*lines: str, unit: str = "psi") -> ParsedLog:
    return parse_pressure_csv("\n".join((f"time,pressure_{unit},temperature_c", *lines)) + "\n")


def test_two_logs_become_one_record() -> None:
    """In the order they are given, with both files named."""
    first = _log("2026-11-25T09:00:00Z,4.8,14", "2026-11-25T09:01:00Z,4.8,")
    second = _log("2026-11-25T09:02:00Z,4.7,13")

    record = put_together([("a", first), ("b", second)], WINDOW_KPA)

    assert record is not None
    assert record.evidence == ("a", "b")
    assert record.times_s.size == 3
    assert record.to_ask == ()
    assert [each.temperature_c for each in wall_readings([first, second])] == [14, 13]
    assert put_together([]) is None


def test_a_mistaken_unit_and_a_clock_set_back_are_asked_about() -> None:
    """32.7 in psi is far off, in kPa it would fit; nothing is converted."""
    odd = _log("2026-11-25T09:01:00Z,32.7,14", "2026-11-25T09:00:00Z,32.8,14")

    record = put_together([("a", odd)], WINDOW_KPA)

    assert record is not None
    assert ["steps back" in record.to_ask[0], "in kPa it would fit" in record.to_ask[1]] == [
        True,
        True,
    ]
    assert record.pressures_kpa.max() > 200


def test_questions_stand_beside_the_verdict_and_do_not_move_it() -> None:
    """A log inside its window is met, with the question in the reason."""
    log = a_log()
    asked = type(log)(log.evidence, log.times_s, log.pressures_kpa, ("Was it exported twice?",))

    plain, told = (cure_pressure_held(a_day(pressure=each)) for each in (log, asked))

    assert plain.outcome is told.outcome is Outcome.MET
    assert told.reason.endswith(". To ask the crew: Was it exported twice?")
    assert "To ask" not in plain.reason
    assert np.array_equal(log.times_s, asked.times_s)
