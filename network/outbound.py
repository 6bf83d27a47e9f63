"""Calls to addresses that people gave us: over TLS, to public addresses, and without their answer.

Whoever can name an address could otherwise let the server knock at its own doors.
"""

import ipaddress
import socket
from collections.abc import Mapping
from urllib.parse import urlsplit

import urllib3
from django.conf import settings
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.connectionpool import HTTPConnectionPool, HTTPSConnectionPool
from urllib3.exceptions import HTTPError, NewConnectionError

from network.errors import InvalidInput

URL_LENGTH_MAX = 1_000
_CONNECT_S_MAX = 5.0
_ANSWER_S_MAX = 10.0
# Addresses that carry an IPv4 address in their last four bytes (RFC 6052 §2.1).
_NAT64 = ipaddress.ip_network("64:ff9b::/96")

Address = ipaddress.IPv4Address | ipaddress.IPv6Address


class NotReachedError(Exception):
    """The address could not be reached, or is none that is called."""


def check_url(url: str, *, field: str) -> None:
    """Raise InvalidInput naming the field unless the address may be called, as far as one sees.

    What its name leads to is looked at each time it is called.
    """
    detail = _fault_of(url)
    if detail:
        raise InvalidInput.of(field, detail, "Give a public address that begins with https://.")


def post(url: str, *, body: bytes, headers: Mapping[str, str]) -> int:
    """Send a body, follow no redirect, and return the status; raises NotReachedError."""
    if _fault_of(url):
        raise NotReachedError(_fault_of(url))
    try:
        with _caller() as pools:
            answer = pools.request(
                "POST",
                url,
                body=body,
                headers=dict(headers),
                redirect=False,
                retries=False,
                preload_content=False,
                timeout=urllib3.Timeout(connect=_CONNECT_S_MAX, read=_ANSWER_S_MAX),
            )
            status = answer.status
            answer.close()
            return status
    except (HTTPError, OSError) as fault:
        raise NotReachedError(_reason_of(fault)[:200]) from fault


def _reason_of(fault: Exception) -> str:
    """Say why a call failed as the system does, without the names of the classes that called."""
    inner = fault.__cause__ if isinstance(fault.__cause__, OSError) else fault
    return getattr(inner, "strerror", None) or str(inner)


def _fault_of(url: str) -> str:
    """Return what is wrong with an address as it is written, or nothing."""
    try:
        parts = urlsplit(url)
        host, _ = parts.hostname or "", parts.port
    except ValueError:
        return "This is no address."
    if len(url) > URL_LENGTH_MAX or not host or not url.isascii() or " " in url:
        return "This is no address that can be called."
    if parts.username is not None or parts.password is not None:
        return "An address with a name or password in it is not called."
    if parts.scheme != "https" and not (parts.scheme == "http" and _is_here(host)):
        return "Only addresses that begin with https:// are called."
    literal = _literal(host)
    if literal is not None and not _may_be_called(literal):
        return "This address is not public."
    return ""


def _literal(host: str) -> Address | None:
    try:
        return ipaddress.ip_address(host)
    except ValueError:
        return None


def _is_here(host: str) -> bool:
    literal = _literal(host)
    return settings.CALLS_TO_LOOPBACK and literal is not None and literal.is_loopback


def _may_be_called(address: Address) -> bool:
    if settings.CALLS_TO_LOOPBACK and address.is_loopback:
        return True
    if isinstance(address, ipaddress.IPv6Address):
        inner = address.ipv4_mapped or address.sixtofour
        if inner is None and address in _NAT64:
            inner = ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
        if inner is not None:
            return _may_be_called(inner)
    return address.is_global and not address.is_multicast


def _address_of(host: str, port: int) -> str:
    """Look a name up and return the address to connect to; all that it leads to must be public."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    addresses = [str(where[0]) for *_, where in found]
    if not addresses or not all(_may_be_called(ipaddress.ip_address(a)) for a in addresses):
        raise OSError("This name leads to an address that is not public.")
    return addresses[0]


class _Guarded(HTTPConnection):
    """Connects to the very address that was looked at, wherever the name leads a moment later."""

    def _new_conn(self) -> socket.socket:
        try:
            here = (_address_of(self.host, self.port), self.port)
            return socket.create_connection(here, timeout=_CONNECT_S_MAX)
        except OSError as fault:
            raise NewConnectionError(self, str(fault)) from fault


class _GuardedTls(_Guarded, HTTPSConnection):
    """The same over TLS; the certificate is still that of the name."""


class _Pool(HTTPConnectionPool):
    ConnectionCls = _Guarded


class _TlsPool(HTTPSConnectionPool):
    ConnectionCls = _GuardedTls


def _caller() -> urllib3.PoolManager:
    pools = urllib3.PoolManager()
    pools.pool_classes_by_scheme = {"http": _Pool, "https": _TlsPool}
    return pools
