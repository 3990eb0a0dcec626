"""The report a client reads."""

import io
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pypdf
import pytest

from qa.closeout.payload import evidence_paths
from qa.closeout.record import digest, record_json
from qa.closeout.report.build import report_pdf
from qa.closeout.report.summary import headline, open_matters
from qa.domain.closeout import CloseoutFacts, NonconformanceFact, RequirementFact, WaiverFact
from tests.qa.closeout_example import Example, example


def report(made: Example, facts: CloseoutFacts | None = None) -> bytes:
    """Make the report of an example, or of its changed facts."""
    shown = facts or made.facts
    paths = evidence_paths(shown)
    return report_pdf(shown, made.files, paths, digest(record_json(shown, paths)))


PROOF = "Proof is named by the numbers of the evidence list."
"""Stands below the heading of the requirements."""


def pages(content: bytes) -> list[str]:
    """Read the text of each page, spaces made plain."""
    reader = pypdf.PdfReader(io.BytesIO(content))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Example:
    """Make a repair with one waiver, one nonconformance and steps reported late."""
    return example(tmp_path_factory.mktemp("files"))


@pytest.fixture(scope="module")
def read(made: Example) -> list[str]:
    """Read the pages of its report."""
    return pages(report(made))


def test_page_one_tells_what_was_repaired_and_with_which_lots(read: list[str]) -> None:
    """Reference, attempt, run, distance in both systems, kit lot and resin lots are on page one."""
    for words in ("Repair R-20417, attempt 2", "RUN-2041-2042", "31.48 m (103.3 ft)",
                  "200 mm (7.9 in)", "K-7731-04", "A-55120", "B-55187"):  # fmt: skip
        assert words in read[0]


def test_page_one_says_open_and_waived_matters_plainly(read: list[str]) -> None:
    """The waiver with who, role and reason, the nonconformance, and the late steps."""
    for words in ("Of 17 requirements: 16 met and 1 waived.", "Oskar Linden, owner's engineer",
                  "No entry was made", "Nonconformance: Film late.", "2 of 14 steps"):  # fmt: skip
        assert words in read[0]


def test_a_spotless_repair_says_that_nothing_is_open(tmp_path: Path) -> None:
    """Silence would be ambiguous; the report says it."""
    clean = example(tmp_path, spotless=True, photos=0)
    facts = replace(clean.facts, timeline=())

    first = pages(report(clean, facts))[0]

    assert "All 17 requirements are met." in first
    assert "Nothing is open, and nothing was waived." in first


def test_a_nonconformance_is_told_with_its_cause_and_its_files(read: list[str]) -> None:
    """What was decided, what it came from, when it was done, by which numbers of the list."""
    text = " ".join(next(page for page in read if "Nonconformances" in page).split())

    for words in (
        "It came from The truck had no signal for two days.",
        "Carried out 2031-03-13",
        "A file not in this package: sketch-of-attempt-1.jpg",
        "E01 done: E01",
    ):
        assert words in text.replace("\N{NO-BREAK SPACE}", " ")


def test_a_decision_names_no_file_that_is_not_there(made: Example) -> None:
    """A number in the report always leads to a file of the package."""
    one = NonconformanceFact("lift", "The end lifts.", made.facts.closed_at, evidence_ids=("x",))

    with pytest.raises(ValueError, match="nonconformance lift: unknown evidence"):
        replace(made.facts, nonconformances=(one,))


def test_an_open_nonconformance_is_called_open(made: Example) -> None:
    """Without a disposition it is still open."""
    one = NonconformanceFact("lift", "The end lifts.", made.facts.closed_at)

    assert ("Nonconformance: Lift", "The end lifts. Still open.") in open_matters(
        replace(made.facts, nonconformances=(one,))
    )


@pytest.mark.parametrize(
    ("verdicts", "mark_of_all", "words"),
    [
        (["met", "met"], "met", "All 2 requirements are met."),  # the usual
        (["met", "waived"], "waived", "Of 2 requirements: 1 met and 1 waived."),  # by decision
        (
            ["waived", "not_met"],
            "not_met",
            "Of 2 requirements: 1 not met and 1 waived.",
        ),  # worst rules
        (["met", "cannot_tell"], "cannot_tell", "Of 2 requirements: 1 met and 1 cannot tell."),
        (
            ["not_applicable", "met"],
            "not_applicable",
            "Of 2 requirements: 1 met and 1 does not apply.",
        ),
        ([], "cannot_tell", "No requirement was set for this repair."),  # nothing proved
    ],
)
def test_the_headline_carries_the_worst_verdict(
    made: Example, verdicts: list, mark_of_all: str, words: str
) -> None:
    """One requirement not met is not hidden behind sixteen that are."""
    set_of = tuple(RequirementFact(f"r{n}", "x", word, "", {}) for n, word in enumerate(verdicts))

    assert headline(replace(made.facts, requirements=set_of)) == (mark_of_all, words)


def test_each_page_has_its_number_the_repair_and_the_records_hash(
    made: Example, read: list[str]
) -> None:
    """A page that fell out of the binder still says where it belongs."""
    expected = digest(record_json(made.facts, evidence_paths(made.facts)))

    for number, text in enumerate(read, start=1):
        assert f"Page {number} of {len(read)}" in text
        assert "Repair R-20417, attempt 2" in text
        assert expected in text


def test_invented_data_is_called_invented_on_each_page(read: list[str]) -> None:
    """Nobody can take a page of the demonstration for a proof."""
    assert all("INVENTED DATA" in text for text in read)
    assert "No such pipe, person, company or place exists" in read[0]


def test_true_data_is_not_called_invented(made: Example) -> None:
    """The warning stands only where it is true."""
    assert (
        "invented" not in " ".join(pages(report(made, replace(made.facts, invented=False)))).lower()
    )


def test_every_requirement_stands_with_its_verdict_and_proof(
    made: Example, read: list[str]
) -> None:
    """Seventeen titles, sixteen times met, once waived; the table runs over the foot of a page."""
    number = next(n for n, text in enumerate(read) if PROOF in text)
    table = " ".join(read[number : number + 2])

    for one in made.facts.requirements:
        assert one.title in table
    assert table.count(" met ") == 16
    assert "waived Atmosphere read" in table
    assert "Written down by Una Reed, 2031-03-16 04:00 UTC\N{MINUS SIGN}05:00" in table
    assert "least 0.35 m; limit 0.305 m" in table


def test_every_evidence_file_stands_with_its_hash(made: Example, read: list[str]) -> None:
    """Hashes are whole, so that they can be searched and compared."""
    text = " ".join(read)

    for one in made.facts.evidence:
        assert one.sha256 in text
        assert evidence_paths(made.facts)[one.id] in text


def test_times_are_the_sites_with_their_offset(read: list[str]) -> None:
    """14:02 UTC in a town five hours behind is 09:02, and says so."""
    text = " ".join(read)

    assert "09:02:00 \N{MINUS SIGN}05:00" in text
    assert "CST6CDT" in text


def test_the_caution_of_the_makers_chart_is_always_there(made: Example) -> None:
    """With or without cautions of its own, a report never invites an early deflation."""
    text = " ".join(pages(report(made, replace(made.facts, cautions=()))))

    assert "A computed cure time never shortens the maker's cure chart." in text
    assert "Local codes and licensed practice come first." in text


def test_a_reader_program_learns_what_it_holds(made: Example) -> None:
    """Title, author, subject, language and an outline are set; no date is."""
    reader = pypdf.PdfReader(io.BytesIO(report(made)))

    assert reader.metadata.title == "Closeout report: repair R-20417, attempt 2"
    assert reader.metadata.author == "Lantern Pipe Repair"
    assert "RUN-2041-2042" in reader.metadata.subject
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert [entry.title for entry in reader.outline][:2] == ["Where in the pipe", "Pressure"]


def test_every_typeface_is_inside_the_file(made: Example) -> None:
    """In ten years no program has to guess a font."""
    reader = pypdf.PdfReader(io.BytesIO(report(made)))
    fonts = {
        name: font.get_object()
        for page in reader.pages
        for name, font in page["/Resources"]["/Font"].items()
    }

    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts.values())


@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 595, 842), ("Letter", 612, 792)])
def test_the_paper_is_the_clients(made: Example, paper: str, width: int, height: int) -> None:
    """A4 is 210 by 297 mm (ISO 216), US Letter 8.5 by 11 in, 72 points an inch."""
    reader = pypdf.PdfReader(io.BytesIO(report(made, replace(made.facts, paper=paper))))

    assert (round(reader.pages[0].mediabox.width), round(reader.pages[0].mediabox.height)) == (
        width,
        height,
    )


@pytest.mark.parametrize(("cure_h", "long_names"), [(2.0, False), (9.0, True)])
def test_page_one_stays_one_page(tmp_path: Path, cure_h: float, long_names: bool) -> None:
    """Long names and long cures do not push the summary over."""
    found = pages(report(example(tmp_path, cure_h=cure_h, long_names=long_names, paper="Letter")))

    assert "With Tomas Wren and Bo Larkspur" in found[0]
    assert "Where in the pipe" in found[1]
    assert len(found) == 8


@pytest.mark.parametrize("photos", [0, 1, 2, 4, 8])
def test_sections_follow_each_other_as_they_fit(tmp_path: Path, photos: int) -> None:
    """Page one stands alone; a table begins where there is room and runs on to the next page."""
    found = pages(report(example(tmp_path, photos=photos)))

    assert "Where in the pipe" not in found[0]
    requirements = next(n for n, text in enumerate(found) if PROOF in text)
    assert "Temperature and cure" in found[requirements]
    assert found[requirements + 1].index("Verdict Requirement") < 80  # the head comes again
    assert len(found) <= 7 + bool(photos)


def test_reasons_are_sentences_on_the_sites_clock(made: Example) -> None:
    """A rule writes half a sentence in UTC; the report says it as the site's people would."""
    reason = "the film starts at 2031-03-11T14:02:14+00:00, before use"
    first = replace(
        made.facts.requirements[0],
        verdict="waived",
        reason=reason,
        numbers={"film_starts": "2031-03-11T14:02:14+00:00"},
        waiver=WaiverFact("Eva Invented", "engineer", "seen on the film"),
    )
    broken = NonconformanceFact(
        "lots_traceable",
        "attempt 1: mixing started was reported although the lot is not known",
        made.facts.closed_at,
        "rework: a new sleeve",
    )
    facts = replace(made.facts, requirements=(first,), nonconformances=(broken,))
    assert facts.cure is not None
    cure = replace(facts.cure, working=("Hold = 60.0 min, until 2031-03-11T15:02:14+00:00.",))

    found = pages(report(made, replace(facts, cure=cure)))
    text = " ".join(found).replace("\N{NO-BREAK SPACE}", " ")

    assert "+00:00" not in text
    said = "The film starts at 2031-03-11 09:02:14 (UTC-05:00), before use. Waived by Eva Invented"
    assert said in found[0]
    assert "engineer: Seen on the film." in found[0]
    assert (
        "Nonconformance: Lots known and in date. Attempt 1: mixing started was reported although "
        "the lot is not known. Disposition: Rework: a new sleeve."
    ) in found[0]
    assert "film starts 2031-03-11 09:02:14 (UTC-05:00)" in text
    assert "until 2031-03-11 10:02:14 (UTC-05:00)." in text
    assert reason.encode() in record_json(facts, evidence_paths(facts))


def test_a_zone_that_counts_the_other_way_is_told_by_its_offset(made: Example) -> None:
    """Etc/GMT+1 is an hour behind UTC: name and offset side by side read as a contradiction."""
    site = replace(made.facts.site, time_zone="Etc/GMT+1")
    text = " ".join(pages(report(made, replace(made.facts, site=site))))

    assert "Etc/" not in text
    assert text.count("Times are UTC\N{MINUS SIGN}01:00.") == 3


def test_a_report_of_almost_nothing_is_still_made(made: Example) -> None:
    """A repair closed by waiver, with no readings and no evidence, gives an honest report."""
    facts = replace(
        made.facts, sleeves=(), timeline=(), cure=None, working_time=None, hold_test=None,
        pressure_kpa=(), temperature_c=(), evidence=(), requirements=(), nonconformances=(),
        quantities=(), cautions=(), repair=replace(made.facts.repair, clock_from=None),
    )  # fmt: skip

    text = " ".join(pages(report(made, facts)))

    for words in (
        "No pressure readings",
        "No temperature readings",
        "No steps were reported",
        "No requirement was set",
        "No evidence file",
        "No sleeve is recorded",
    ):
        assert words in text


def test_a_report_of_too_much_is_still_made(made: Example) -> None:
    """Whole pages of notes, many sleeves, steps and requirements only make it longer."""
    one, sleeve, step = made.facts.requirements[7], made.facts.sleeves[0], made.facts.timeline[0]
    facts = replace(
        made.facts,
        repair=replace(made.facts.repair, note="water " * 2000),
        sleeves=tuple(replace(sleeve, start_m=30 + n * 0.9, end_m=31 + n * 0.9) for n in range(6)),
        timeline=(step,) * 80,
        requirements=(replace(one, reason="because " * 1500), *(one,) * 60),
    )

    assert len(pages(report(made, facts))) > 10


def test_one_reading_is_drawn_and_said(made: Example) -> None:
    """A log of a single reading is no reason to fail."""
    at = made.facts.cure.started_at

    text = " ".join(pages(report(made, replace(made.facts, pressure_kpa=((at, 34.0),)))))

    assert "Of 1 readings" in text


def test_an_early_deflation_is_not_dressed_up(made: Example) -> None:
    """Deflated before the hold time ended: the report says SHORT and BEFORE."""
    cure = made.facts.cure
    early = replace(cure, deflated_at=cure.hold_until_at - timedelta(minutes=3))

    text = " ".join(pages(report(made, replace(made.facts, cure=early))))

    assert "3 min SHORT of the 2 h needed" in text
    assert "Deflated 3 min BEFORE the hold time ended" in text


def test_letters_the_typeface_lacks_do_not_stop_the_report(made: Example) -> None:
    """Accented Latin is kept, other letters become plain ones or a question mark."""
    site = replace(made.facts.site, street="Łódzka Ǻ 通路 <b>&")

    assert "Łódzka A ?? <b>&" in pages(report(made, replace(made.facts, site=site)))[0]


def test_the_same_facts_make_the_same_bytes(made: Example) -> None:
    """No clock and no chance gets into the file."""
    assert report(made) == report(made)
