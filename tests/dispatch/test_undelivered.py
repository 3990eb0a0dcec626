"""Why a message did not go out: the queue's own record of it, in plain words."""

from typing import Any

import pytest

from dispatch.channels import email, webhook
from dispatch.channels.outgoing import UndeliverableError
from dispatch.domain.undelivered import why_not_sent
from tests.dispatch.test_channels import message


@pytest.mark.parametrize(
    ("kept", "says"),
    [
        ("", ""),
        ("NoAnswerError: no answer: ConnectTimeout", "the address does not answer"),
        (
            "NoAnswerError: the mail server did not take it: [Errno 111] refused by mail.inside",
            "the mail server does not answer",
        ),
        (
            "UndeliverableError: the mail server did not take it: (550, b'relay mail.inside')",
            "the mail server did not take it",
        ),
        (
            "UndeliverableError: answered 503, not 2xx",
            "the address answered with status 503 and not with one from 200 to 299",
        ),
        ("KeyError: 'secret of the house'", "something went wrong here"),
        ("UndeliverableError: secret of the house", "something went wrong here"),
    ],
)
def test_what_the_queue_keeps_is_said_plainly(kept: str, says: str) -> None:
    """The cause, without the words of a mail server or of a program."""
    assert why_not_sent(kept) == says


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("https://10.0.0.5/told", "10.0.0.5 leads to a private or reserved address"),
        ("https://not-there.invalid/told", "not-there.invalid is not found"),
        ("http://gateway.example/told", "expected https"),
    ],
)
def test_what_a_channel_says_of_an_address_is_passed_on(address: str, says: str) -> None:
    """As the channel really words it: the two do not part."""
    with pytest.raises(UndeliverableError) as refused:
        webhook.send(message(address))

    assert why_not_sent(f"{type(refused.value).__name__}: {refused.value}") == says


def test_without_a_mail_server_that_is_the_cause(settings: Any) -> None:
    """As the channel words it."""
    settings.EMAIL_HOST = ""
    with pytest.raises(UndeliverableError) as refused:
        email.send(message("nora@crew.example"))

    assert why_not_sent(f"UndeliverableError: {refused.value}") == "no mail server is set here"
