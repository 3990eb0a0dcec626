"""A crew's day: where to go with what, in order; nobody else's."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from dispatch.models import Crew
from dispatch.pages.crew_day import crew_day
from repairs.domain.progress import Stage
from repairs.domain.roles import Role
from repairs.models import Account
from tests.factories import (
    AccountFactory,
    CrewFactory,
    EquipmentFactory,
    KitStockFactory,
    KitTypeFactory,
    LotFactory,
    RepairFactory,
    now,
    today,
)
from tests.live_repair import a_live_repair
from tests.page_reader import look
from tests.proof_factories import AssignmentFactory, NoticeFactory


def midnight(lead: Account, *, days: int) -> datetime:
    """Return the midnight of the crew's zone so many days on."""
    zone = ZoneInfo(lead.crew_member.crew.time_zone)
    return datetime.combine(now().astimezone(zone).date() + timedelta(days=days), time(), zone)


@pytest.mark.parametrize("who", ["crew_lead", "crew_member"])
def test_a_crew_sees_its_day(who: str, request: pytest.FixtureRequest, crew: Crew) -> None:
    """Lead and member see what their crew has today, with the way to each repair."""
    repair = RepairFactory(ref="REP-MINE")
    AssignmentFactory(repair=repair, crew=crew)

    page = look(request.getfixturevalue(who), "/my-day")

    assert "REP-MINE" in page.text
    assert f"/repairs/{repair.pk}" in page.links


def test_a_crew_sees_nothing_of_another_crew(crew_lead: Account, other_crew_lead: Account) -> None:
    """Another crew's work does not stand there."""
    AssignmentFactory(repair__ref="REP-MINE", crew=crew_lead.crew_member.crew)

    page = look(other_crew_lead, "/my-day")

    assert "REP-MINE" not in page.text
    assert "Nothing is planned for you today." in page.text


@pytest.mark.parametrize("who", ["dispatcher", "reviewer", "client_user", "service_account"])
def test_nobody_else_has_such_a_day(who: str, request: pytest.FixtureRequest) -> None:
    """The page is for crews."""
    look(request.getfixturevalue(who), "/my-day", status=403)


@pytest.mark.django_db
def test_whoever_is_in_no_crew_is_told_so() -> None:
    """A crew lead whom nobody has put into a crew gets an explanation, not an error."""
    page = look(AccountFactory(role=Role.CREW_LEAD.value), "/my-day")

    assert "Your account belongs to no crew" in page.text


def test_the_day_stands_in_order(crew: Crew, crew_lead: Account) -> None:
    """What begins first stands first, whatever was planned first."""
    for ref, hours in (("REP-LATER", 1), ("REP-SOONER", -1)):
        start = now() + timedelta(minutes=hours)
        AssignmentFactory(
            repair__ref=ref, crew=crew, starts_at=start, ends_at=start + timedelta(seconds=30)
        )

    text = look(crew_lead, "/my-day").text

    assert text.index("REP-SOONER") < text.index("REP-LATER")


def test_a_job_says_address_pipe_kit_and_pressure_in_both_units(
    crew: Crew, crew_lead: Account
) -> None:
    """A crew reads millimetres or inches, kilopascals or pounds per square inch, as it likes."""
    repair = RepairFactory()
    AssignmentFactory(repair=repair, crew=crew)

    text = look(crew_lead, "/my-day").text

    assert repair.run.site.street in text
    assert "300 mm (11.8 in), concrete" in text
    assert "33.0 kPa (4.79 psi)" in text
    assert f"14.20 m (46.588 ft) from {repair.datum.ref}" in text


@pytest.mark.django_db
@pytest.mark.parametrize("until", ["mixing_started", "inflated"])
def test_live_resin_stays_on_top_over_midnight(until: str) -> None:
    """The clock on the site's wall says tomorrow; the sleeve is still in the pipe."""
    live = a_live_repair(until=until, ago_min=1)
    after, later = midnight(live.lead, days=1), midnight(live.lead, days=2)
    AssignmentFactory(repair__ref="REP-EARLY", crew=live.crew, starts_at=later)

    for at in (after + timedelta(minutes=1), later + timedelta(minutes=1)):
        day = crew_day(live.lead, now=at)
        assert day is not None
        assert day.jobs[0].ref == live.repair.ref
        assert day.jobs[0].faces
        assert live.repair.ref not in {job.ref for job in day.later}
    assert [job.ref for job in day.jobs] == [live.repair.ref, "REP-EARLY"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("until", "stays"),
    [("arrived", True), ("hold_test_done", True), ("withdrawn", True), ("left", False)],
)
def test_what_is_begun_stays_until_the_crew_has_left(until: str, stays: bool) -> None:
    """A day later it stands there still, unless the crew has left."""
    begun = a_live_repair(until=until, ago_min=1)

    day = crew_day(begun.lead, now=midnight(begun.lead, days=2))

    assert day is not None
    assert (begun.repair.ref in {job.ref for job in day.jobs}) is stays


@pytest.mark.django_db
def test_what_is_done_takes_one_line() -> None:
    """A finished job keeps its place and its link, and gives the screen to the next one."""
    done = a_live_repair(until="left", ago_min=1)

    page = look(done.lead, "/my-day")

    assert f"{done.repair.ref} filmed" in page.text
    assert f"/repairs/{done.repair.pk}" in page.links
    assert f"Open {done.repair.ref}" not in page.text


def test_lots_are_used_in_the_order_of_their_expiry(crew: Crew, crew_lead: Account) -> None:
    """The lot that runs out first stands first; one that has run out says so."""
    kit = KitTypeFactory()
    for number, days in (("LOT-LONG", 90), ("LOT-SOON", 3), ("LOT-OVER", -1)):
        lot = LotFactory(kit_type=kit, number=number, expires_on=today() + timedelta(days=days))
        KitStockFactory(crew=crew, lot=lot, quantity=2)
    AssignmentFactory(crew=crew)

    text = look(crew_lead, "/my-day").text

    assert text.index("LOT-OVER") < text.index("LOT-SOON") < text.index("LOT-LONG")
    assert text.count("expired, do not use") == 1
    assert "1 still needed today, 4 in date." in text


def test_a_kit_that_is_missing_is_named(crew: Crew, crew_lead: Account) -> None:
    """With no kit in date the page says how many are short."""
    KitTypeFactory()
    AssignmentFactory(crew=crew)

    text = look(crew_lead, "/my-day").text

    assert "1 short: 1 still needed today, 0 in date." in text
    assert "No lot is on the truck." in text


def test_a_packer_out_of_test_is_not_to_be_used(crew: Crew, crew_lead: Account) -> None:
    """The packer's test date stands beside the pipes it serves."""
    EquipmentFactory(crew=crew, serial="PK-OLD", test_due_on=today() - timedelta(days=2))
    AssignmentFactory(crew=crew, repair__ref="REP-300")

    text = look(crew_lead, "/my-day").text

    assert "PK-OLD for 200 mm (7.9 in) to 320 mm (12.6 in): REP-300." in text
    assert "do not use" in text


def test_a_notice_about_live_resin_stands_on_top(crew: Crew, crew_lead: Account) -> None:
    """What is still of use is read before anything else."""
    repair = RepairFactory(stage=Stage.WET_OUT.value)
    AssignmentFactory(repair=repair, crew=crew)
    NoticeFactory(crew=crew, repair=repair, words="Invented: inflate now.")

    text = look(crew_lead, "/my-day").text

    assert text.index("inflate now") < text.index("Before anybody opens or enters")


def test_an_old_notice_stays_below(crew: Crew, crew_lead: Account) -> None:
    """'Inflate now' about a sleeve that is out of the pipe would only mislead."""
    repair = RepairFactory(stage=Stage.FILMED.value)
    NoticeFactory(crew=crew, repair=repair, words="Invented: inflate now.", settled_at=now())

    text = look(crew_lead, "/my-day").text

    assert text.index("Told today (1)") < text.index("inflate now")


def test_other_crews_notices_are_not_there(crew_lead: Account) -> None:
    """A notice goes to the crew it is for."""
    NoticeFactory(crew=CrewFactory(), words="Invented: not for you.")

    assert "not for you" not in look(crew_lead, "/my-day").text


def test_the_caution_is_there_even_on_an_empty_day(crew_lead: Account) -> None:
    """Before anybody opens or enters, the usual things come first."""
    assert "traffic control, air test, ventilation" in look(crew_lead, "/my-day").text


def test_hostile_words_stay_words(crew: Crew, crew_lead: Account) -> None:
    """Markup in a street, a note or a notice is shown, not obeyed."""
    hostile = "<img src=x onerror=alert(1)>"
    repair = RepairFactory(ref=hostile, stage=Stage.WET_OUT.value)
    repair.run.site.street = repair.run.site.note = hostile
    repair.run.site.save()
    AssignmentFactory(repair=repair, crew=crew)
    NoticeFactory(crew=crew, repair=repair, words=hostile)

    assert look(crew_lead, "/my-day").text.count(hostile) >= 4


@pytest.mark.parametrize(("count", "says"), [(5, False), (6, True)])
def test_a_cut_list_of_what_comes_says_that_it_is_cut(
    crew_lead: Account, count: int, says: bool
) -> None:
    """Five stand there; how many there are stands there, too."""
    for day in range(1, count + 1):
        AssignmentFactory(crew=crew_lead.crew_member.crew, starts_at=midnight(crew_lead, days=day))

    text = look(crew_lead, "/my-day").text

    assert f"After today ({count})" in text
    assert (f"The first 5 of {count}" in text) is says
