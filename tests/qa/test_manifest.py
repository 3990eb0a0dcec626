"""The texts of the bag and the names of its files."""

import re
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.manifest import (
    BAGIT_TXT,
    NAME_LIMIT_BYTES,
    bag_info_text,
    decode_path,
    encode_path,
    manifest_text,
    numbered_names,
    safe_name,
)

CLOSED_AT = datetime(2031, 3, 13, 19, 54, tzinfo=UTC)
HASH = "0" * 63 + "a"


def info(**changed: object) -> str:
    """Write bag-info.txt with some values changed."""
    given_values = {
        "closed_at": CLOSED_AT,
        "payload_sizes": [10, 20, 7],
        "identifier": "R-20417-attempt-2",
        "organisation": "Lantern Pipe Repair",
        "description": "Closeout",
    }
    return bag_info_text(**(given_values | changed))


def test_the_declaration_is_that_of_bagit_1_0() -> None:
    """The declaration is the two lines RFC 8493, section 2.1.1 prints, and nothing else."""
    assert BAGIT_TXT == "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("data/a b.jpg", "data/a b.jpg"),  # a space needs no mark
        ("data/a\nb", "data/a%0Ab"),  # a line feed would begin a new line
        ("data/a\rb", "data/a%0Db"),  # so would a carriage return to many readers
        ("data/100%", "data/100%25"),  # the mark's own sign
        ("data/%0A", "data/%250A"),  # a name that looks like a mark stays that name
        ("data/ü", "data/ü"),  # letters stay letters: only these three are encoded
    ],
)
def test_a_path_is_encoded_as_rfc_8493_2_1_3_says(path: str, line: str) -> None:
    """Line feed, carriage return and per cent are encoded, and only these."""
    assert encode_path(path) == line
    assert decode_path(line) == path


@given(st.text())
def test_any_path_comes_back_from_its_line(path: str) -> None:
    """Decoding undoes encoding, and an encoded path stays on one line."""
    line = encode_path(path)

    assert decode_path(line) == path
    assert "\n" not in line
    assert "\r" not in line


@given(
    st.dictionaries(st.text(min_size=1).map(lambda t: f"data/x{t.replace('/', '')}"), st.just(HASH))
)
def test_a_manifest_has_one_line_a_file_in_fixed_order(files: dict[str, str]) -> None:
    """However the files come, the same files give the same lines."""
    text = manifest_text(files)
    turned = manifest_text(dict(reversed(files.items())))

    assert text == turned
    assert text.count("\n") == len(files)
    assert {decode_path(line.split("  ", 1)[1]) for line in text.split("\n")[:-1]} == set(files)


@pytest.mark.parametrize(
    ("path", "digest"),
    [
        ("/etc/passwd", HASH),  # absolute
        ("data/../../x", HASH),  # climbs out
        ("~/x", HASH),  # a shell would expand it
        ("data/x", HASH.upper()),  # upper case: not what we write
        ("data/x", HASH[:-1]),  # one digit short
    ],
)
def test_a_manifest_refuses_what_no_bag_may_hold(path: str, digest: str) -> None:
    """A path out of the bag and a malformed hash are refused with the path named."""
    with pytest.raises(ValueError, match=re.escape(path)):
        manifest_text({path: digest})


def test_the_oxum_counts_bytes_and_files() -> None:
    """Three files of 10, 20 and 7 bytes make 37.3 (RFC 8493, section 2.2.2)."""
    assert "Payload-Oxum: 37.3\n" in info()


def test_the_bagging_date_is_the_day_of_closing_in_utc() -> None:
    """Late in the evening west of Greenwich it is the next day in UTC."""
    late = datetime.fromisoformat("2031-03-13T21:30:00-05:00")

    assert "Bagging-Date: 2031-03-14\n" in info(closed_at=late)


def test_a_line_break_in_a_value_makes_no_new_label() -> None:
    """A contractor's name cannot smuggle a label into the bag's description."""
    text = info(organisation="Lantern\nPayload-Oxum: 0.0")

    assert "Source-Organization: Lantern Payload-Oxum: 0.0\n" in text
    assert len([line for line in text.splitlines() if line.startswith("Payload-Oxum")]) == 1


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("IMG 2041.jpg", "IMG-2041.jpg"),  # a space splits in shells
        ("../../etc/passwd", "etc-passwd"),  # no way out of the folder
        ("C:\\film\\before.mp4", "C-film-before.mp4"),  # a path of another system
        ("con.csv", "file-con.csv"),  # a device name on some systems
        (".hidden", "hidden"),  # would not be seen
        ("log. ", "log"),  # trailing dot and space are cut by some systems
        ("50%.png", "50-.png"),  # some bag readers do not decode %25
        ("", "file"),  # nothing left
        ("\u0065\u0301tat.txt", "\u00e9tat.txt"),  # composed, so that both forms are one name
    ],
)
def test_a_file_name_is_made_safe(name: str, safe: str) -> None:
    """Each danger in a name is taken out and the rest kept."""
    assert safe_name(name) == safe


@given(st.text())
def test_a_safe_name_is_safe_whatever_it_was(name: str) -> None:
    """A safe name is one part, short, without forbidden signs, and safe already."""
    safe = safe_name(name)

    assert safe
    assert not re.search(r'[\x00-\x1f\x7f<>:"/\\|?*%\s]', safe)
    assert len(safe.encode()) <= NAME_LIMIT_BYTES
    assert safe[0] not in "-. ~"
    assert safe[-1] not in ". "
    assert safe_name(safe) == safe


def test_a_long_name_keeps_its_extension() -> None:
    """A cut name still opens in the right program."""
    safe = safe_name("très-" * 60 + ".jpg")

    assert safe.endswith(".jpg")
    assert len(safe.encode()) <= NAME_LIMIT_BYTES


@given(st.lists(st.sampled_from(["a.jpg", "A.JPG", "b", "", "é", "e\u0301"]), max_size=120))
def test_no_two_files_share_a_name(names: list[str]) -> None:
    """Numbered names differ even where case does not count, and sort in the given order."""
    made = numbered_names(names)

    assert len({name.casefold() for name in made}) == len(names)
    assert list(made) == sorted(made, key=lambda name: name.split("-", 1)[0])
