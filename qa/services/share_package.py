"""Links to packages: made, used, called back."""

from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.db import transaction
from django.db.models import F, QuerySet

from qa.models import CloseoutPackage, CollectedPackage, PackageLink
from qa.services.close import not_ready
from repairs.models import Account

_SALT = "curewright package link"
LONGEST_H = 24 * 90


@transaction.atomic
def share_package(
    *, package: CloseoutPackage, hours: int, by: Account, now: datetime
) -> PackageLink:
    """Make a link to a finished package that ends after some hours."""
    if package.ready_at is None:
        raise not_ready(package)
    return PackageLink.objects.create(
        package=package, made_by=by, made_at=now, expires_at=now + timedelta(hours=hours)
    )


def token_of(link: PackageLink) -> str:
    """Return what the address of a link holds: the same whenever it is asked for."""
    return signing.Signer(salt=_SALT).sign_object(str(link.pk))


def address_of(link: PackageLink) -> str:
    """Return where a link leads."""
    return f"{settings.PUBLIC_URL}/shared/{token_of(link)}"


@transaction.atomic
def use_link(*, token: str, now: datetime) -> CloseoutPackage | CollectedPackage | None:
    """Return the package of a link that holds, counting the use; None for any other token."""
    if not _holding(token, now).update(fetched=F("fetched") + 1, last_fetched_at=now):
        return None
    return look_up_link(token=token, now=now)


def look_up_link(*, token: str, now: datetime) -> CloseoutPackage | CollectedPackage | None:
    """Return the package of a link that holds, without counting; None for any other token."""
    row = _holding(token, now).select_related("package", "collected").first()
    return None if row is None else row.leads_to


def _holding(token: str, now: datetime) -> QuerySet[PackageLink]:
    """Return the link of a token, while it holds."""
    try:
        link_id = UUID(signing.Signer(salt=_SALT).unsign_object(token))
    except (signing.BadSignature, ValueError, TypeError):
        return PackageLink.objects.none()
    return PackageLink.objects.filter(pk=link_id, called_back_at__isnull=True, expires_at__gt=now)


@transaction.atomic
def call_back(*, link: PackageLink, now: datetime) -> PackageLink:
    """End a link now; twice is a no-op."""
    row = PackageLink.objects.select_for_update().get(pk=link.pk)
    if row.called_back_at is None:
        row.called_back_at = now
        row.save(update_fields=["called_back_at"])
    return row
