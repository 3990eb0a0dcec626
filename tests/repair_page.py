"""Sends the forms of a repair's page as a browser does."""

from repairs.models import Account, Repair
from tests.page_reader import Page, client_of, page_of


def address(repair: Repair, act: str = "") -> str:
    """Return the page of a repair, or where something of it is sent."""
    return f"/repairs/{repair.pk}/{act}".rstrip("/")


def sent(account: Account, repair: Repair, act: str, **typed: str | list[str]) -> object:
    """Send a form of the page as a browser does."""
    body = {"attempt": str(repair.attempt), **typed}
    return client_of(account).post(address(repair, act), body)


def refused(
    account: Account, repair: Repair, act: str, status: int, **typed: str | list[str]
) -> Page:
    """Send a form that is refused; return the page, which says so."""
    page = page_of(sent(account, repair, act, **typed), status=status)
    assert "Nothing was recorded" in page.text
    return page
