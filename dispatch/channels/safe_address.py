"""Looks where an address really leads, so that a webhook cannot reach into the house."""

import ipaddress
import socket
from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

_PORTS = {"https": 443, "http": 80}


class NotAllowedError(Exception):
    """The address leads where no webhook may go, or nowhere."""


@dataclass(frozen=True, slots=True)
class Pinned:
    """An address with its host looked up once.

    The connection goes to what was judged, `url`; a second look-up could lead elsewhere.
    `name` is what the certificate must name, `host` the header.
    """

    url: str
    host: str
    name: str


def read_address(address: str, *, allow_private: bool) -> SplitResult:
    """Return the parts of a webhook's address; NotAllowedError says what is wrong with it."""
    try:
        parts = urlsplit(address)
        parts.port  # noqa: B018 - it is read, and may be no number
    except ValueError as error:
        raise NotAllowedError("not an address") from error
    schemes = ("https", "http") if allow_private else ("https",)
    if parts.scheme not in schemes:
        raise NotAllowedError(f"expected {' or '.join(schemes)}")
    if not parts.hostname or parts.username or parts.password or parts.fragment:
        raise NotAllowedError("expected a host, and no user, password or fragment")
    if not allow_private and leads_inside(parts.hostname):
        raise NotAllowedError(f"{parts.hostname} leads to a private or reserved address")
    return parts


def leads_inside(host: str) -> bool:
    """Return whether a host says by itself, without being looked up, that it is not outside.

    A number counts in each notation a resolver takes: 2130706433 and 0x7f.1 are 127.0.0.1.
    """
    name = host.rstrip(".").partition("%")[0]
    if name == "localhost" or name.endswith(".localhost"):  # RFC 6761, section 6.3
        return True
    try:
        if ":" in name:
            return not is_outside(ipaddress.IPv6Address(name))
        return not is_outside(ipaddress.IPv4Address(socket.inet_aton(name)))
    except (OSError, ValueError):
        return False


def pinned(address: str, *, allow_private: bool) -> Pinned:
    """Look the host up and judge every answer; one private address among them is enough."""
    parts = read_address(address, allow_private=allow_private)
    name = str(parts.hostname)
    port = parts.port or _PORTS[parts.scheme]
    try:
        found = socket.getaddrinfo(name, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise NotAllowedError(f"{name} is not found") from error
    addresses = [ipaddress.ip_address(str(each[4][0]).partition("%")[0]) for each in found]
    if not allow_private and not all(is_outside(each) for each in addresses):
        raise NotAllowedError(f"{name} leads to a private or reserved address")
    first = addresses[0]
    shown = f"[{first}]" if first.version == 6 else str(first)  # noqa: PLR2004 - the version
    query = f"?{parts.query}" if parts.query else ""
    return Pinned(
        url=f"{parts.scheme}://{shown}:{port}{parts.path or '/'}{query}",
        host=name if parts.port is None else f"{name}:{parts.port}",
        name=name,
    )


def is_outside(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> bool:
    """Return whether an address is out on the internet, also when it hides inside another."""
    if isinstance(address, ipaddress.IPv6Address):
        hidden = address.ipv4_mapped or address.sixtofour or _translated(address)
        if hidden is not None:
            return is_outside(hidden)
        if address.teredo is not None:
            return False
    return address.is_global and not address.is_multicast


def _translated(address: ipaddress.IPv6Address) -> ipaddress.IPv4Address | None:
    """Return the address behind the well-known translation prefix (RFC 6052)."""
    if address in ipaddress.ip_network("64:ff9b::/96"):
        return ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
    return None
