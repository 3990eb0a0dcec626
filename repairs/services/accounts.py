"""People and devices at the door."""

import secrets
from datetime import datetime, timedelta

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from repairs.domain.problem import Fault, Refused, malformed
from repairs.domain.roles import Role
from repairs.domain.token_digest import digest_of
from repairs.models import Account, Customer, DeviceToken

LONGEST_TOKEN_LIFE = timedelta(days=400)


@transaction.atomic
def open_account(
    *,
    username: str,
    password: str | None,
    role: Role,
    full_name: str = "",
    customer: Customer | None = None,
) -> Account:
    """Open an account; without a password it can only come with a device token."""
    if Account.objects.filter(username=username).exists():
        raise Refused("already_there", f"username: {username!r} is taken; choose another.")
    if (role is Role.CLIENT) != (customer is not None):
        raise malformed(
            Fault("customer", str(customer), "a customer for a client, and only for a client")
        )
    first, _, last = full_name.partition(" ")
    account = Account(
        username=username, role=role.value, customer=customer, first_name=first, last_name=last
    )
    if password is None:
        account.set_unusable_password()
    else:
        try:
            validate_password(password, account)
        except ValidationError as error:
            raise malformed(
                Fault("password", "a weak password", " ".join(error.messages))
            ) from error
        account.set_password(password)
    account.is_staff = account.is_superuser = role is Role.ADMINISTRATOR
    account.save()
    return account


@transaction.atomic
def issue_device_token(
    *, account: Account, label: str, expires_at: datetime, now: datetime
) -> tuple[DeviceToken, str]:
    """Make a token for a device; the returned text is shown once and never again."""
    if not now < expires_at <= now + LONGEST_TOKEN_LIFE:
        raise malformed(
            Fault(
                "expires_at",
                expires_at.isoformat(),
                f"a time within {LONGEST_TOKEN_LIFE.days} days from now",
            )
        )
    # Digits and letters: one that begins with "-" would be an option on a command line.
    token = secrets.token_hex(32)
    row = DeviceToken.objects.create(
        account=account, label=label, digest=digest_of(token), expires_at=expires_at
    )
    return row, token


@transaction.atomic
def revoke_device_token(*, token: DeviceToken, now: datetime) -> None:
    """End a token at once; a lost phone is locked out with its next request."""
    if token.revoked_at is None:
        token.revoked_at = now
        token.save(update_fields=["revoked_at"])
