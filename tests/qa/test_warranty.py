"""Warranties: the day they end and the day to look again, by the site's calendar and contract."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from dispatch.domain.terms import Terms
from dispatch.services.ask_repair import ask_repair
from qa.domain.warranty import warranty
from qa.models import ClientAnswer
from qa.warranties import inspections
from repairs.domain.field_event import EventKind
from repairs.models import Account
from tests.callers import API, signed_in
from tests.factories import RepairFactory, RequirementSetFactory
from tests.proof_factories import ClientAnswerFactory, FieldEventFactory, NoticeFactory

DAY = timedelta(days=1)
LONG_AGO, FAR_AHEAD = date(2000, 1, 1), date(2100, 1, 1)


def term(value: int) -> dict[str, object]:
    """Return a term of a contract."""
    return {"value": value, "source": "invented"}


def accepted(at: datetime, *, zone: str = "CET", months: int = 12, lead: int = 30) -> ClientAnswer:
    """Return a repair that was accepted at an instant, under such a contract."""
    contract = RequirementSetFactory(
        name=f"{months} months, {lead} days",
        terms={"warranty_months": term(months), "warranty_lead_days": term(lead)},
    )
    repair = RepairFactory(work_order__requirement_set=contract)
    repair.run.site.time_zone = zone
    repair.run.site.save()
    return ClientAnswerFactory(package__closing__repair=repair, answered_at=at)


@given(st.dates(date(2001, 1, 1), date(2150, 1, 1)), st.integers(1, 240), st.integers(0, 365))
def test_days_are_those_of_the_calendar(day: date, months: int, lead: int) -> None:
    """The dateutil library counts months the same; nobody looks before the acceptance."""
    found = warranty(day, Terms(warranty_months=months, warranty_lead_days=lead))

    assert found is not None
    assert found.ends_on == day + relativedelta(months=months)
    assert found.inspect_from == max(day, found.ends_on - timedelta(days=lead))
    assert found.state(found.ends_on) == "over"
    assert found.state(found.ends_on - DAY) == ("due" if lead else "ahead")
    assert found.state(day - DAY) == "ahead"


@pytest.mark.parametrize(
    ("day", "months", "ends"),
    [
        ("2028-02-29", 12, "2029-02-28"),
        ("2028-02-29", 48, "2032-02-29"),
        ("2027-02-28", 12, "2028-02-28"),
        ("2031-08-31", 6, "2032-02-29"),
    ],
)
def test_leap_days(day: str, months: int, ends: str) -> None:
    """Counted by hand: a day that the later month lacks becomes its last."""
    found = warranty(date.fromisoformat(day), Terms(warranty_months=months))

    assert found is not None
    assert found.ends_on.isoformat() == ends


def test_a_contract_without_a_warranty_has_none() -> None:
    """Nothing ends, nothing is to be looked at."""
    assert warranty(date(2031, 3, 14), Terms(warranty_months=0)) is None


@pytest.mark.django_db
@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago", "Europe/Berlin"])
@pytest.mark.parametrize("months", [1, 12, 13])
@pytest.mark.parametrize("at", ["2028-02-29T10:30Z", "2031-12-31T23:30Z", "2032-03-31T00:10Z"])
def test_the_day_is_the_sites_and_both_bounds_hold(
    dispatcher: Account, zone: str, months: int, at: str
) -> None:
    """Fourteen hours ahead or eleven behind: found by the very day, and not by the next one."""
    instant = datetime.fromisoformat(at)
    row = accepted(instant, zone=zone, months=months)
    ends = instant.astimezone(ZoneInfo(zone)).date() + relativedelta(months=months)
    look_from = ends - 30 * DAY

    def found(since: date, until: date) -> list[date]:
        rows = inspections(dispatcher, since=since, until=until, now=instant)
        assert {each.repair.pk for each in rows} <= {row.package.closing.repair_id}
        return [each.warranty.ends_on for each in rows]

    look_from = max(look_from, instant.astimezone(ZoneInfo(zone)).date())
    assert found(ends, look_from) == [ends]
    assert found(ends + DAY, FAR_AHEAD) == []
    assert found(LONG_AGO, look_from - DAY) == []


@pytest.mark.django_db
def test_the_list_and_the_reminder_mean_the_same_days() -> None:
    """What is told to the dispatcher is told on the day that stands in the list."""
    instant = datetime(2030, 11, 3, 23, 30, tzinfo=UTC)
    repair = accepted(instant, zone="America/Chicago").package.closing.repair
    zone = ZoneInfo("America/Chicago")
    FieldEventFactory(
        repair=repair, kind=EventKind.ACCEPTED, device_time=instant, received_at=instant
    )
    days = warranty(instant.astimezone(zone).date(), Terms())

    asked = ask_repair(str(repair.pk), instant + 330 * DAY)

    assert asked is not None
    assert days is not None
    (told,) = (each for each in asked.reminders if each.code == "warranty_inspection_due")
    assert told.due_at.astimezone(zone).date() == days.inspect_from
    assert told.about is not None
    assert told.about.astimezone(zone).date() == days.ends_on


@pytest.mark.django_db
def test_it_is_told_whether_somebody_was_reminded(dispatcher: Account) -> None:
    """Of this attempt; the office sees all, sorted by the day to look."""
    later = accepted(datetime(2031, 5, 1, 12, tzinfo=UTC)).package.closing
    sooner = accepted(datetime(2031, 3, 1, 12, tzinfo=UTC)).package.closing
    NoticeFactory(repair=sooner.repair, code="warranty_inspection_due", since=str(sooner.attempt))
    NoticeFactory(repair=later.repair, code="warranty_inspection_due", since="9")
    ClientAnswer.objects.filter(package__closing=later).update(note="seen")

    found = (
        signed_in(dispatcher)
        .get(f"{API}/warranty-inspections?since=2031-01-01&until=2033-01-01")
        .json()
    )

    assert [each["repair"] for each in found] == [sooner.repair.ref, later.repair.ref]
    assert [each["reminded_at"] is not None for each in found] == [True, False]
    assert found[0]["warranty_ends_on"] == "2032-03-01"
    assert found[0]["inspect_from"] == "2032-01-31"


@pytest.mark.django_db
def test_what_was_returned_has_no_warranty(dispatcher: Account) -> None:
    """Only an acceptance begins it."""
    row = accepted(datetime(2031, 3, 1, 12, tzinfo=UTC))
    ClientAnswer.objects.filter(pk=row.pk).update(answer="returned")

    assert inspections(dispatcher, since=LONG_AGO, until=FAR_AHEAD, now=row.answered_at) == ()


@pytest.mark.parametrize("asked", ["until=soon", "since=2031-02-30", "until=20310301", "to=2031",
                                   "until=9999-12-31", "since="])  # fmt: skip
def test_a_day_that_is_none_is_refused(dispatcher: Account, asked: str) -> None:
    """A mistyped day or question is named, not ignored."""
    answer = signed_in(dispatcher).get(f"{API}/warranty-inspections?{asked}")

    assert answer.status_code == 422
    assert answer.json()["code"] == "malformed"
