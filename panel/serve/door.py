"""Where the server listens, and which requests are meant for it."""

from __future__ import annotations

import socket
from dataclasses import dataclass, replace
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit

from panel.errors import DoorRefused

LOOPBACK = "127.0.0.1"
USUAL_PORTS = {"http": 80, "https": 443}


@dataclass(frozen=True)
class Door:
    """One address, and how what is typed is kept from other ears on the way to it."""

    named: str
    address: str
    port: int
    certificate: Path | None = None
    key: Path | None = None
    behind: str | None = None
    proxies: frozenset[str] = frozenset()
    in_the_clear: bool = False

    @property
    def scheme(self) -> str:
        """Return how the server itself is spoken to."""
        return "https" if self.certificate else "http"

    @property
    def origin(self) -> str:
        """Return what people type to get here."""
        return self.behind or origin_of(self.scheme, self.named, self.port)

    @property
    def secure(self) -> bool:
        """Say whether what is typed reaches the server encrypted."""
        return urlsplit(self.origin).scheme == "https"

    @property
    def origins(self) -> frozenset[str]:
        """Return every origin whose pages are ours."""
        if self.behind:
            return frozenset({self.behind})
        names = {self.named, self.address, *({"localhost"} if self.address == LOOPBACK else ())}
        return frozenset(origin_of(self.scheme, name, self.port) for name in names)

    @property
    def hosts(self) -> frozenset[str]:
        """Return what the Host of a request may be."""
        return frozenset(urlsplit(origin).netloc for origin in self.origins)

    def at_port(self, port: int) -> Door:
        """Return the same door at the port that was given to it."""
        return replace(self, port=port)

    def is_proxy(self, peer: str) -> bool:
        """Say whether a request comes from the proxy that this server stands behind."""
        return peer in self.proxies


@dataclass(frozen=True)
class EncryptedBy:
    """One of the ways a line is kept from other ears; or none, and then that is said."""

    certificate: Path | None = None
    key: Path | None = None
    behind: str | None = None
    nothing: bool = False

    @property
    def named(self) -> int:
        """Return how many ways were named."""
        return sum((self.certificate is not None, self.behind is not None, self.nothing))


AT_HOME = EncryptedBy()
"""Nobody else hears what one machine says to itself."""


def make_door(named: str, port: int, line: EncryptedBy = AT_HOME) -> Door:
    """Return a door as it was asked for.

    Raises
    ------
    DoorRefused
        It would be open wider than was said; the sentence says what to do.
    """
    address = _one_address(named)
    if (line.certificate is None) != (line.key is None):
        raise DoorRefused("A certificate goes with its key: name both, --certificate and --key.")
    if line.named > 1:
        raise DoorRefused("Name one of --certificate with --key, --behind and --in-the-clear.")
    at_home = ip_address(address).is_loopback
    if not (at_home or line.named):
        raise DoorRefused(
            f"On {named} others can listen. Name --certificate and --key, or --behind and the "
            "address of the proxy that encrypts, or say --in-the-clear: then PINs can be read on "
            "that network."
        )
    door = Door(named, address, port, line.certificate, line.key, in_the_clear=line.nothing)
    if line.behind is None:
        return door
    origin = _proxy_origin(line.behind)
    proxies = frozenset({address}) if at_home else _addresses(urlsplit(origin).hostname or "")
    return replace(door, behind=origin, proxies=proxies)


def _one_address(named: str) -> str:
    found = sorted(_addresses(named))
    if not found:
        raise DoorRefused(f"{named!r} is no address of a machine that is known here.")
    if ip_address(found[0]).is_unspecified:
        raise DoorRefused(
            f"{named} stands for every address of this machine, also those that you do not think "
            "of. Name the one that the tablets reach."
        )
    return found[0]


def _addresses(named: str) -> frozenset[str]:
    try:
        found = socket.getaddrinfo(named, None, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        return frozenset()
    return frozenset(str(one[4][0]) for one in found)


def _proxy_origin(behind: str) -> str:
    parts = urlsplit(behind)
    plain = parts.path in {"", "/"} and not (parts.query or parts.fragment or parts.username)
    if parts.scheme not in USUAL_PORTS or not parts.hostname or not plain:
        raise DoorRefused(f"{behind!r} is not the address of a proxy, such as https://booths.lan.")
    if parts.scheme == "http" and not _is_home(parts.hostname):
        raise DoorRefused("The proxy of --behind has to encrypt: its address begins with https://.")
    return origin_of(parts.scheme, parts.hostname, parts.port or USUAL_PORTS[parts.scheme])


def _is_home(host: str) -> bool:
    found = _addresses(host)
    return bool(found) and all(ip_address(one).is_loopback for one in found)


def origin_of(scheme: str, host: str, port: int) -> str:
    """Return an origin as a browser writes it."""
    name = f"[{host}]" if ":" in host else host.lower()
    return f"{scheme}://{name}" + ("" if USUAL_PORTS[scheme] == port else f":{port}")
