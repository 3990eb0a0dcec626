"""Headers of tus 1.0: what is understood and what is told back."""

from base64 import b64encode

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qa.domain.tus_headers import Checksum, checksum, metadata, whole_number
from repairs.domain.problem import Fault

WORD = st.text("abcdefghijklmnopqrstuvwxyz-_0123456789", min_size=1, max_size=20)


def test_the_protocols_own_example_is_read() -> None:
    """Source: tus resumable upload protocol 1.0.0, creation, Upload-Metadata."""
    sent = "filename d29ybGRfZG9taW5hdGlvbl9wbGFuLnBkZg==,is_confidential"

    assert metadata(sent) == {"filename": "world_domination_plan.pdf", "is_confidential": ""}


def test_the_protocols_own_checksum_is_read() -> None:
    """Source: tus resumable upload protocol 1.0.0, checksum (of "hello world")."""
    found = checksum("sha1 Kq5sNclPz7QV2+lfQIuc6R7oRu0=")

    assert isinstance(found, Checksum)
    assert found.digest.hex() == "2aae6c35c94fcfb415dbe95f408b9ce91ee846ed"


@pytest.mark.parametrize("sent", [None, "", "-1", "+1", "1.0", "0x10", "\u0663", "1" * 16, " 1"])
def test_what_is_no_count_of_bytes_is_told(sent: str | None) -> None:
    """Signs, other digits, too many digits."""
    assert isinstance(whole_number("Upload-Length", sent), Fault)


@given(st.dictionaries(WORD, st.text(max_size=50), max_size=8))
def test_words_come_back_as_they_were_sent(said: dict[str, str]) -> None:
    """Any UTF-8 text, any number of keys."""
    sent = ", ".join(f"{key} {b64encode(value.encode()).decode()}" for key, value in said.items())

    assert metadata(sent) == said


@given(st.text(max_size=200))
def test_any_header_is_understood_or_told(sent: str) -> None:
    """Whatever comes, an answer and no error."""
    assert isinstance(metadata(sent), dict | Fault)
    assert isinstance(checksum(sent), Checksum | Fault)
    assert isinstance(whole_number("Upload-Offset", sent), int | Fault)
