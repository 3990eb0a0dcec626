"""Sends a notice by e-mail."""

from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage

from dispatch.channels.outgoing import NoAnswerError, Outgoing, UndeliverableError


def send(outgoing: Outgoing) -> None:
    """Hand the message to the mail server, under a Message-ID that stays the same."""
    if not settings.EMAIL_HOST:
        raise UndeliverableError("no mail server is set: CUREWRIGHT_SMTP_URL")
    name = outgoing.id.replace(":", ".")
    message = EmailMessage(
        subject=outgoing.subject,
        body=outgoing.words,
        to=[outgoing.address],
        headers={
            "Message-ID": f"<{name}@{settings.EMAIL_ID_DOMAIN}>",
            "Auto-Submitted": "auto-generated",
        },
    )
    try:
        message.send()
    except SMTPException as error:
        raise UndeliverableError(f"the mail server did not take it: {error}") from error
    except OSError as error:
        raise NoAnswerError(f"the mail server did not take it: {error}") from error
