"""A download that broke off goes on, by link and by account (RFC 9110, section 14)."""

import zipfile

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.byte_range import NotInFileError, Part, part_asked
from qa.models import CloseoutPackage, PackageLink
from qa.sealed_files import package_path
from qa.services.share_package import token_of
from repairs.models import Account
from tests.callers import API, signed_in
from tests.finished_package import a_package
from tests.page_reader import client_of, look
from tests.proof_factories import PackageLinkFactory

BYTES = bytes(range(256)) * 4
ETAG = f'"{"ab" * 32}"'


@pytest.mark.parametrize(
    ("header", "part"),
    [  # the examples of RFC 9110, section 14.1.2, for 10000 bytes
        ("bytes=0-499", Part(0, 499)),
        ("bytes=500-999", Part(500, 999)),
        ("bytes=-500", Part(9500, 9999)),
        ("bytes=9500-", Part(9500, 9999)),
        ("bytes=0-0", Part(0, 0)),
        ("bytes=9999-20000", Part(9999, 9999)),
        ("bytes=-20000", Part(0, 9999)),
        ("bytes=0-0,-1", None),  # several parts: the whole
        ("bytes=5-4", None),
        ("bytes=-", None),
        ("lines=1-2", None),
        ("", None),
    ],
)
def test_the_examples_of_the_standard(header: str, part: Part | None) -> None:
    """What is no single part of bytes is answered with the whole."""
    assert part_asked(header, 10_000) == part


@pytest.mark.parametrize(("header", "size"), [("bytes=10-", 10), ("bytes=-0", 10), ("bytes=-1", 0)])
def test_what_begins_behind_the_end_is_not_there(header: str, size: int) -> None:
    """RFC 9110, section 14.1.2."""
    with pytest.raises(NotInFileError):
        part_asked(header, size)


@given(st.text() | st.from_regex(r"bytes=\d*-\d*", fullmatch=True), st.integers(1, 10**6))
def test_a_part_lies_within_its_file(header: str, size: int) -> None:
    """Whatever is asked."""
    try:
        part = part_asked(header, size)
    except NotInFileError:
        return
    assert part is None or 0 <= part.first <= part.last < size


@pytest.fixture
def package(client_user: Account) -> CloseoutPackage:
    """Return a package with bytes."""
    return with_bytes(a_package(client_user), BYTES)


def with_bytes(package: CloseoutPackage, content: bytes) -> CloseoutPackage:
    """Put its bytes where they are looked for."""
    path = package_path(package.storage_key)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return package


def test_a_broken_download_goes_on(package: CloseoutPackage, client_user: Account) -> None:
    """By link and at the API: the rest comes, with where it lies; both halves are the file."""
    link = f"/shared/{token_of(PackageLinkFactory(package=package))}"
    for caller, address in (
        (Client(), link),
        (signed_in(client_user), f"{API}/packages/{package.pk}/file"),
    ):
        whole = caller.get(address)
        rest = caller.get(address, headers={"Range": "bytes=1000-", "If-Range": ETAG})
        other = caller.get(address, headers={"Range": "bytes=1000-", "If-Range": '"other"'})
        behind = caller.get(address, headers={"Range": "bytes=5000-"})

        assert (whole.status_code, whole["Accept-Ranges"], whole["ETag"]) == (200, "bytes", ETAG)
        assert (rest.status_code, rest["Content-Range"]) == (206, "bytes 1000-1023/1024")
        assert rest["Content-Length"] == "24"
        assert b"".join(whole.streaming_content)[:1000] + b"".join(rest.streaming_content) == BYTES
        assert (other.status_code, b"".join(other.streaming_content)) == (200, BYTES)
        assert (behind.status_code, behind["Content-Range"]) == (416, "bytes */1024")


def test_a_link_counts_what_begins_a_fetch(package: CloseoutPackage) -> None:
    """A look at the head and the rest of a broken download are no new use; a wrong link is none."""
    row = PackageLinkFactory(package=package)
    address = f"/shared/{token_of(row)}"

    head = Client().head(address)
    Client().get(address, headers={"Range": "bytes=10-"})
    counted = PackageLink.objects.get().fetched
    Client().get(address, headers={"Range": "bytes=0-9"})

    assert (head.status_code, head["Content-Length"]) == (200, "1024")
    assert b"".join(head) == b""
    assert (counted, PackageLink.objects.get().fetched) == (0, 1)
    assert Client().head("/shared/x").status_code == 404


def test_the_report_is_read_without_unpacking(
    client_user: Account, stranger_client: Account
) -> None:
    """The very bytes of the package, shown in the browser; of its own customer only."""
    package = a_package(client_user, file_name="WO-1-R-1.zip")
    path = package_path(package.storage_key)
    path.parent.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("top/data/evidence/report.pdf", b"of somebody")
        archive.writestr("top/data/report.pdf", b"%PDF-1.7 invented")
    address = f"/packages/{package.pk}/report.pdf"
    unready = a_package(client_user, ref="REP-2", ready_at=None)

    page = look(client_user, f"/packages/{package.pk}")
    answer = client_of(client_user).get(address)

    assert address in page.links
    assert (answer.status_code, answer.content) == (200, b"%PDF-1.7 invented")
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="WO-1-R-1-report.pdf"'
    assert client_of(stranger_client).get(address).status_code == 404
    look(client_user, f"/packages/{unready.pk}/report.pdf", status=404)


def test_every_attempt_is_named_where_there_are_several(client_user: Account) -> None:
    """The first, too: nobody takes it for the one that counts."""
    package = a_package(client_user)
    alone = look(client_user, f"/packages/{package.pk}").text
    repair = package.closing.repair
    repair.attempt = 2
    repair.save()

    assert "attempt 1" not in alone
    assert f"{repair.ref}, attempt 1" in look(client_user, f"/packages/{package.pk}").text
    assert "attempt 1" in look(client_user, "/packages").text
