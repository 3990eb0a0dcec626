"""Links to a package, until when it is kept, and which key signed it: as its page shows them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.conf import settings

from qa.keeping import kept_for
from qa.models import CloseoutPackage, PackageLink
from qa.services.share_package import LONGEST_H, token_of
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
    links = PackageLink.objects.filter(package=package).select_related("made_by")
    return {
        "links": [_line(row, zone, now) for row in links.order_by("-made_at", "pk")],
        "spans": SPANS,
        "usual": USUAL_H,
        "kept": kept_for(account, package),
        "key_id": package.checkpoint.key_id if package.checkpoint else "",
    }


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
        address=f"{settings.PUBLIC_URL}/shared/{token_of(row)}" if holds else "",
        made=f"made by {row.made_by.display_name} on {moment(row.made_at, zone)}",
        state=state,
        mark="tick" if holds else "pause",
        fetched=f"fetched {times}{last}" if row.fetched else "not fetched yet",
    )
