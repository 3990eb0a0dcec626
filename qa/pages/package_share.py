"""Links to a package, until when it is kept, and which key signed it: as its page shows them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.db.models import QuerySet

from dispatch.domain.undelivered import why_not_sent
from duework.selectors import attempts_at
from qa.keeping import kept_for
from qa.models import CloseoutPackage, PackageLink, PackageMessage
from qa.services.share_package import LONGEST_H, address_of
from repairs.models import Account
from repairs.pages.clock_words import moment

Tried = Mapping[str, tuple[bool, str]]
"""What `attempts_at` says of messages, by key."""

USUAL_H = 72
SPANS = ((24, "a day"), (USUAL_H, "three days"), (24 * 7, "a week"), (24 * 30, "30 days"))
"""What the page offers, in hours; the longest that is allowed stands in the service."""


class ShareForm(forms.Form):
    """How long the link holds."""

    hours = forms.IntegerField(min_value=1, max_value=LONGEST_H)

    def wrong(self) -> str:
        """Return what is wrong with it, in one sentence."""
        return f"Choose how long the link holds: 1 to {LONGEST_H} hours."


@dataclass(frozen=True, slots=True)
class LinkLine:
    """A link; its address only while it holds. `by_message` is one that goes out with a message."""

    id: str
    address: str
    made: str
    state: str
    mark: str
    fetched: str
    by_message: bool
    unsent: bool


def share_context(
    package: CloseoutPackage, *, account: Account, now: datetime
) -> Mapping[str, Any]:
    """Return what the page says of links, keeping and key to this account."""
    zone = package.closing.repair.run.site.time_zone
    lines = link_lines(PackageLink.objects.filter(package=package), zone=zone, now=now)
    messages = tuple(line for line in lines if line.by_message)
    return {
        "links": tuple(line for line in lines if not line.by_message),
        "messages": messages,
        "unsent": sum(line.unsent for line in messages),
        "spans": SPANS,
        "usual": USUAL_H,
        "kept": kept_for(account, package),
        "key_id": package.checkpoint.key_id if package.checkpoint else "",
    }


def link_lines(links: QuerySet[PackageLink], *, zone: str, now: datetime) -> tuple[LinkLine, ...]:
    """Return links as a page shows them, the newest first."""
    rows = list(
        links.select_related("made_by", "sent_to", "message__contact").order_by("-made_at", "pk")
    )
    unsent = [found.key for row in rows if (found := _message(row)) and found.sent_at is None]
    tried = attempts_at(dedupe_keys=unsent)
    return tuple(_line(row, zone, now, tried) for row in rows)


def _message(row: PackageLink) -> PackageMessage | None:
    """Return the message it goes out with; none where somebody asked for it, or it was lost."""
    found: PackageMessage | None = getattr(row, "message", None)
    return found


def _line(row: PackageLink, zone: str, now: datetime, tried: Tried) -> LinkLine:
    holds = row.called_back_at is None and row.expires_at > now
    if row.called_back_at is not None:
        state = f"called back on {moment(row.called_back_at, zone)}"
    elif holds:
        state = f"holds until {moment(row.expires_at, zone)}"
    else:
        state = f"ended on {moment(row.expires_at, zone)}"
    times = "once" if row.fetched == 1 else f"{row.fetched} times"
    last = f", last on {moment(row.last_fetched_at, zone)}" if row.last_fetched_at else ""
    return LinkLine(
        id=str(row.pk),
        address=address_of(row) if holds else "",
        made=_made(row, zone, tried),
        state=state,
        mark="tick" if holds else "pause",
        fetched=f"fetched {times}{last}" if row.fetched else "not fetched yet",
        by_message=row.made_by is None,
        unsent=(message := _message(row)) is not None and message.sent_at is None,
    )


def _made(row: PackageLink, zone: str, tried: Tried) -> str:
    """Return who asked for a link, or in whose message it goes, where to, and whether it went."""
    if row.made_by is not None:
        return f"made by {row.made_by.display_name} on {moment(row.made_at, zone)}"
    whose = row.sent_to.display_name if row.sent_to else ""
    message = _message(row)
    if message is None:
        return f"made for the message to {whose}, whose address was taken away since"
    how = f"by {message.contact.channel} to {_place(message.contact.address)}"
    if message.sent_at is not None:
        return f"sent to {whose} {how}, on {moment(message.sent_at, zone)}"
    again, error = tried.get(message.key, (False, ""))
    why = why_not_sent(error) or ("it is on its way" if again else "it was no longer of use")
    after = "; it is tried again" if again and error else ""
    return f"made for {whose}, not sent yet {how}: {why}{after}"


def _place(address: str) -> str:
    """Return an address without its query, in which some services put a password."""
    return f"{address.partition('?')[0]}?..." if "?" in address else address
