"""Reads a page as a browser would: what it says, where it leads, what it would run."""

from html.parser import HTMLParser
from typing import Any

from django.test import Client

from repairs.models import Account


class Page(HTMLParser):
    """The text, the links and the typed values of a page, and whatever the policy would block."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.words = ""
        self.links: list[str] = []
        self.typed: dict[str, str] = {}
        self.inline: list[str] = []
        self.open: set[str] = set()
        self._inside = ""
        self._area = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note links, boxes and code."""
        given = {name: value or "" for name, value in attrs}
        self._inside = tag
        if tag == "a":
            self.links.append(given.get("href", ""))
        if tag == "input":
            self.typed[given.get("name", "")] = given.get("value", "")
        if tag == "textarea":
            self._area = given["id"]
            self.typed.setdefault(self._area, "")
        if tag == "style" or (tag == "script" and "src" not in given):
            self.inline.append(f"<{tag}>")
        self.inline += [
            f"{tag} {name}={value}"
            for name, value in given.items()
            if name == "style" or name.startswith("on") or value.lower().startswith("javascript:")
        ]

    def handle_endtag(self, tag: str) -> None:
        """Leave a box."""
        self._inside = ""
        if tag == "textarea":
            self._area = ""

    def handle_data(self, data: str) -> None:
        """Gather what is read."""
        if self._area:
            self.typed[self._area] += data
        self.words = f"{self.words} {data}"

    @property
    def text(self) -> str:
        """Return what is read, with single spaces."""
        return " ".join(self.words.split())


def client_of(account: Account | None) -> Client:
    """Return a browser, signed in unless there is nobody."""
    client = Client()
    if account is not None:
        client.force_login(account)
    return client


def look(account: Account | None, address: str, *, status: int = 200) -> Page:
    """Open an address and return the page; it must be answered with the status."""
    return page_of(client_of(account).get(address), status=status)


def page_of(response: Any, *, status: int = 200) -> Page:
    """Return the page of an answer; nothing on it may be blocked by its own policy."""
    assert response.status_code == status, response.content[:500]
    page = Page(response.content.decode())
    assert page.inline == []
    assert "script-src 'self'" in response["Content-Security-Policy"]
    return page
