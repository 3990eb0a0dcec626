"""How far a camera's clock is off, from photos of a clock that is right."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from qa.domain.camera_clock import (
    DRIFT,
    CameraOffset,
    Contradiction,
    Sighting,
    camera_time,
    clock_words,
    film_starts,
    offset_at,
    zone_apart_s,
)

NOON = datetime(2031, 5, 6, 12, 0, tzinfo=UTC)
DAY_S = 86_400.0


def after(seconds: float) -> datetime:
    """Return an instant so many seconds after noon."""
    return NOON + timedelta(seconds=seconds)


def a_photo(
    true_s: float, offset_s: float, *, step_s: float = 1.0, drift: float = 0.0, zoned: bool = True
) -> Sighting:
    """Photograph a right clock at a true time, with a camera that is off and drifts.

    Both cut off what is smaller than their step.
    """
    shown_s = true_s // step_s * step_s
    camera_s = (true_s - offset_s) * (1 - drift) // 1.0
    return Sighting(after(shown_s), step_s, after(camera_s), zoned)


def the_offset(sightings: list[Sighting], at: datetime = NOON) -> CameraOffset:
    """Return the offset, which must be there."""
    found = offset_at(sightings, at)
    assert isinstance(found, CameraOffset)
    return found


@pytest.mark.parametrize(
    ("seconds", "low_s", "high_s"),
    [
        # Reference 12:02:00 by a clock without seconds, camera 12:00:40 (calculated by hand):
        # from 120 - 40 - 1 to 120 + 60 - 40.
        ([(120.0, 40.0)], 79.0, 140.0),
        # A second one narrows both ends: 12:03:00 and 12:01:00, so 119 to 180.
        ([(120.0, 40.0), (180.0, 60.0)], 119.0, 140.0),
    ],
)
def test_an_offset_by_hand(seconds: list[tuple[float, float]], low_s: float, high_s: float) -> None:
    """One photo bounds the offset, another narrows it."""
    photos = [Sighting(after(shown), 60.0, after(camera), zoned=True) for shown, camera in seconds]

    found = the_offset(photos, after(40.0))

    # The second photo is twenty seconds from the first: 0.4 ms of drift.
    assert (found.low_s, found.high_s) == pytest.approx((low_s, high_s), abs=0.001)
    assert found.photos == len(photos)


def test_a_week_away_the_offset_is_less_sure() -> None:
    """Twenty millionths of a week are twelve seconds, to either side."""
    photos = [a_photo(0.0, 0.0)]

    near, far = the_offset(photos, NOON), the_offset(photos, after(7 * DAY_S))

    assert far.low_s == pytest.approx(near.low_s - 12.096)
    assert far.high_s == pytest.approx(near.high_s + 12.096)


OFFSETS = st.floats(-50_000.0, 50_000.0)
TIMES = st.floats(0.0, 3 * DAY_S)
STEPS = st.sampled_from([1.0, 60.0])
PHOTOS = st.lists(st.tuples(TIMES, STEPS), min_size=1, max_size=6)
HAIR_S = 1e-5
"""Datetimes end at microseconds."""


@given(photos=PHOTOS, offset_s=OFFSETS, drift=st.floats(-DRIFT, DRIFT), at_s=TIMES)
def test_the_true_offset_is_always_inside(
    photos: list[tuple[float, float]], offset_s: float, drift: float, at_s: float
) -> None:
    """Whatever the camera's error, and as long as it drifts no faster than it may."""
    # The widening counts the camera's own seconds; a drift as large as allowed, seen by the
    # true clock, is larger by its square.
    drift *= 0.999
    camera_s = (at_s - offset_s) * (1 - drift)
    seen = [a_photo(true_s, offset_s, step_s=step_s, drift=drift) for true_s, step_s in photos]

    found = the_offset(seen, after(camera_s))

    assert found.low_s - HAIR_S <= at_s - camera_s <= found.high_s + HAIR_S


@given(photos=PHOTOS, more=PHOTOS, offset_s=OFFSETS, at_s=TIMES)
def test_more_photos_never_make_it_wider(
    photos: list[tuple[float, float]],
    more: list[tuple[float, float]],
    offset_s: float,
    at_s: float,
) -> None:
    """Each one can only narrow what the others leave."""
    few = [a_photo(true_s, offset_s, step_s=step_s) for true_s, step_s in photos]
    many = few + [a_photo(true_s, offset_s, step_s=step_s) for true_s, step_s in more]

    wide, narrow = the_offset(few, after(at_s)), the_offset(many, after(at_s))

    assert wide.low_s <= narrow.low_s
    assert narrow.high_s <= wide.high_s


@given(offset_s=OFFSETS, set_by_s=st.floats(-5_000.0, 5_000.0))
def test_a_clock_that_was_set_between_is_a_contradiction(offset_s: float, set_by_s: float) -> None:
    """Two photos a minute apart disagree by more than their steps: told, not averaged."""
    assume(abs(set_by_s) > 6.0)
    photos = [a_photo(0.0, offset_s), a_photo(60.0, offset_s + set_by_s)]

    found = offset_at(photos, NOON)

    assert isinstance(found, Contradiction)
    assert found.apart_s == pytest.approx(abs(set_by_s), abs=5.5)
    assert found.words.startswith("2 clock photos of this camera contradict each other by")


def test_without_a_photo_nothing_is_known() -> None:
    """No photo is no offset of zero."""
    assert offset_at([], NOON) is None


def test_photos_with_a_zone_count_before_those_without() -> None:
    """A wall clock two hours ahead and the same camera in UTC do not contradict each other."""
    plain, zoned = a_photo(0.0, -7_200.0, zoned=False), a_photo(0.0, 0.0)

    found = the_offset([plain, zoned])

    assert (found.zoned, found.photos) == (True, 1)
    assert -1.0 <= found.low_s <= found.high_s <= 1.0


def test_a_film_of_a_camera_that_knows_its_zone_starts_once() -> None:
    """Container 12:00:00, camera 100 s slow, a film of a minute: from 12:00:40 on."""
    (start,) = film_starts(NOON, 60.0, CameraOffset(99.0, 101.0, 1, zoned=True))

    assert start.earliest == after(99.0 - 60.0)
    assert start.latest == after(101.0 + 1.0)


def test_a_film_of_a_camera_without_a_zone_has_two_readings() -> None:
    """Its wall clock two hours ahead: the container holds the wall clock, or UTC."""
    as_it_is, moved = film_starts(NOON, 0.0, CameraOffset(-7_101.0, -7_099.0, 1, zoned=False))

    # Two hours are the zone; the camera itself is 100 s slow.
    assert {as_it_is.earliest, moved.earliest} == {after(-7_101.0), after(99.0)}


def test_a_wall_clock_in_utc_has_one_reading() -> None:
    """No zone to be in doubt about."""
    assert len(film_starts(NOON, 0.0, CameraOffset(-2.0, 2.0, 1, zoned=False))) == 1


@pytest.mark.parametrize(
    ("apart_s", "zone_s"),
    [
        (7_200.0, 7_200.0),
        (-12_600.0, -12_600.0),  # three and a half hours
        (7_320.0, 7_200.0),  # and two minutes
        (600.0, None),  # ten minutes are no zone
        (60.0, None),
    ],
)
def test_whole_and_half_hours_look_like_a_zone(apart_s: float, zone_s: float | None) -> None:
    """Within what a clock may be off."""
    assert zone_apart_s(apart_s, within_s=300.0) == zone_s


def test_what_a_camera_wrote_is_read_with_its_zone_or_without() -> None:
    """A time without zone is put down as if in UTC, and said to have none."""
    assert camera_time("2031-05-06T14:00:00+02:00") == (NOON, True)
    assert camera_time("2031-05-06 12:00:00") == (NOON, False)
    assert camera_time("None") is None


@pytest.mark.parametrize(
    ("shown_s", "camera_s", "zoned", "words"),
    [
        (137.0, 0.0, True, "was 136 to 138 s slow"),
        (0.0, 137.0, True, "was 136 to 138 s fast"),
        (0.0, 0.0, True, "was right within 1 s"),
        (0.0, 7_210.0, False, "was 9 to 11 s fast, besides a zone of +2 h"),
        (0.0, 7_210.0, True, "was 7209 to 7211 s fast"),
    ],
)
def test_how_far_off_a_clock_was_is_said(
    shown_s: float, camera_s: float, words: str, *, zoned: bool
) -> None:
    """Slow, fast or right; what is a zone is said apart."""
    assert clock_words(Sighting(after(shown_s), 1.0, after(camera_s), zoned)).endswith(words)
