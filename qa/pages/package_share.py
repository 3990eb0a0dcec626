"""Links to a package, until when it is kept, and which key signed it: as its page shows them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.db.models import QuerySet

from qa.keeping import kept_for
from qa.models import CloseoutPackage, PackageLink, PackageMessage
from qa.services.share_package import LONGEST_H, address_of
from repairs.models import Account
from repairs.pages.clock_words import moment

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
    """A link; its address only while it holds."""

    id: str
    address: str
    made: str
    state: str
    mark: str
    fetched: str


def share_context(
    package: CloseoutPackage, *, account: Account, now: datetime
) -> Mapping[str, Any]:
    """Return what the page says of links, keeping and key to this account."""
    zone = package.closing.repair.run.site.time_zone
    return {
        "links": link_lines(PackageLink.objects.filter(package=package), zone=zone, now=now),
        "spans": SPANS,
        "usual": USUAL_H,
        "kept": kept_for(account, package),
        "key_id": package.checkpoint.key_id if package.checkpoint else "",
    }


def link_lines(links: QuerySet[PackageLink], *, zone: str, now: datetime) -> tuple[LinkLine, ...]:
    """Return links as a page shows them, the newest first."""
    rows = links.select_related("made_by", "sent_to", "message__contact")
    return tuple(_line(row, zone, now) for row in rows.order_by("-made_at", "pk"))


def _line(row: PackageLink, zone: str, now: datetime) -> LinkLine:
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
        made=_made(row, zone),
        state=state,
        mark="tick" if holds else "pause",
        fetched=f"fetched {times}{last}" if row.fetched else "not fetched yet",
    )


def _made(row: PackageLink, zone: str) -> str:
    """Return who asked for a link, or in whose message it goes, and whether that went out."""
    if row.made_by is not None:
        return f"made by {row.made_by.display_name} on {moment(row.made_at, zone)}"
    whose = row.sent_to.display_name if row.sent_to else ""
    message: PackageMessage | None = getattr(row, "message", None)
    if message is None:
        return f"made for the message to {whose}, whose address was taken away since"
    how = f"by {message.contact.channel} with the message that the package is ready"
    if message.sent_at is None:
        return f"made for {whose}, not sent yet {how}"
    return f"sent to {whose} {how}, on {moment(message.sent_at, zone)}"
