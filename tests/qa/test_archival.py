"""The report as an archive and a screen reader want it; judged by pikepdf (qpdf inside)."""

from collections import Counter
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from PIL import ImageCms

from qa.closeout.payload import evidence_paths
from qa.closeout.record import digest, record_json
from qa.closeout.report.archival import srgb
from qa.closeout.report.build import report_pdf
from tests.qa.closeout_example import example


@pytest.fixture(scope="module")
def content(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the report of the example."""
    made = example(tmp_path_factory.mktemp("files"), photos=7)
    paths = evidence_paths(made.facts)
    return report_pdf(made.facts, made.files, paths, digest(record_json(made.facts, paths)))


@pytest.fixture
def report(content: bytes) -> Iterator[pikepdf.Pdf]:
    """Open it."""
    with pikepdf.open(BytesIO(content)) as pdf:
        yield pdf


def elements(node: pikepdf.Object) -> Iterator[pikepdf.Object]:
    """Yield every element of the tree, as it is read out."""
    yield node
    for child in node.get("/K", []):
        if isinstance(child, pikepdf.Dictionary):
            yield from elements(child)


def test_an_outside_reader_finds_no_fault(report: pikepdf.Pdf) -> None:
    """The syntax of every object and stream is right."""
    assert report.check_pdf_syntax() == []


def test_it_says_that_it_is_archival(report: pikepdf.Pdf) -> None:
    """PDF/A-2b (ISO 19005-2): version, identifier, metadata that agree, nothing encrypted."""
    with report.open_metadata(set_pikepdf_as_editor=False) as told:
        assert told.pdfa_status == "2B"
        assert told["dc:title"] == str(report.docinfo["/Title"])
        assert told["dc:creator"] == [str(report.docinfo["/Author"])]
        assert told["dc:description"] == str(report.docinfo["/Subject"])
        assert told["xmp:CreatorTool"] == str(report.docinfo["/Creator"])
        assert told["pdf:Producer"] == str(report.docinfo["/Producer"])
        assert told["xmp:CreateDate"] == told["xmp:ModifyDate"] == "2031-03-13T19:54:00+00:00"
    closed = "D:20310313195400+00'00"
    assert report.docinfo["/CreationDate"] == report.docinfo["/ModDate"] == closed
    assert report.pdf_version == "1.7"
    assert "/ID" in report.trailer
    assert not report.is_encrypted
    assert "/Filter" not in report.Root.Metadata


def test_its_colours_are_meant_in_a_named_space(report: pikepdf.Pdf) -> None:
    """ISO 19005-2, 6.2.3: an output intent with an ICC profile of three colours."""
    (intent,) = report.Root.OutputIntents
    profile = ImageCms.ImageCmsProfile(BytesIO(intent.DestOutputProfile.read_bytes()))

    assert intent.S == "/GTS_PDFA1"
    assert intent.DestOutputProfile.N == 3
    assert "sRGB" in ImageCms.getProfileDescription(profile)
    assert srgb()[36:40] == b"acsp"  # ICC.1, 7.2: the profile file signature


def test_every_typeface_is_inside(report: pikepdf.Pdf) -> None:
    """ISO 19005-2, 6.2.11.4: in ten years nobody has to look for one; letters can be copied out."""
    fonts = [font for page in report.pages for font in page.Resources.Font.values()]

    assert fonts
    for font in fonts:
        assert "/FontFile2" in font.FontDescriptor
        assert "/ToUnicode" in font


def test_it_asks_nothing_of_the_outside(content: bytes, report: pikepdf.Pdf) -> None:
    """No script, no attachment, no link to a program (ISO 19005-2, 6.5 and 6.6)."""
    assert b"/JavaScript" not in content
    assert b"/EmbeddedFile" not in content
    assert all("/Annots" not in page for page in report.pages)
    assert "/OpenAction" not in report.Root


def test_a_screen_reader_is_told_what_is_what(report: pikepdf.Pdf) -> None:
    """Headings, tables with heads, and words for each picture (ISO 32000-1, 14.8)."""
    found = list(elements(report.Root.StructTreeRoot.K))
    roles = Counter(str(each.S) for each in found)
    figures = [str(each.Alt) for each in found if each.S == "/Figure"]
    sections = [item.title for item in report.open_outline().root]

    assert report.Root.MarkInfo.Marked
    assert report.Root.Lang == "en"
    assert roles["/H1"] == 1
    assert roles["/H2"] == len(sections)
    assert roles["/TH"] >= 3 * roles["/Table"] > 0  # the evidence has the fewest columns
    assert roles["/Figure"] >= 7 + 5
    assert all(len(words) > 10 for words in figures)
    assert any(words.startswith("Pressure over time. The shaded band") for words in figures)


def test_each_piece_of_content_belongs_to_one_element(report: pikepdf.Pdf) -> None:
    """Marks in the pages and numbers in the tree are the same; what is unmarked is an artifact."""
    in_tree = Counter(
        (each.Pg.objgen, int(child))
        for each in elements(report.Root.StructTreeRoot.K)
        for child in each.get("/K", [])
        if not isinstance(child, pikepdf.Dictionary)
    )
    in_pages: Counter[tuple[tuple[int, int], int]] = Counter()
    for page in report.pages:
        depth = 0
        for operands, operator in pikepdf.parse_content_stream(page):
            if str(operator) in ("BDC", "BMC"):
                depth += 1
                if str(operator) == "BDC":
                    in_pages[page.obj.objgen, int(operands[1].MCID)] += 1
            elif str(operator) == "EMC":
                depth -= 1
            assert depth in (0, 1)  # pieces do not lie in each other
            assert depth == 1 or str(operator) not in ("Tj", "TJ", "Do", "f", "S", "B")

    assert in_tree == in_pages
    assert set(in_tree.values()) == {1}


def test_the_same_report_is_the_same_bytes(content: bytes, tmp_path: Path) -> None:
    """Tags, metadata and profile have no clock and no chance in them."""
    made = example(tmp_path, photos=7)
    paths = evidence_paths(made.facts)

    again = report_pdf(made.facts, made.files, paths, digest(record_json(made.facts, paths)))

    assert again == content
