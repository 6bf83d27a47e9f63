"""The port and the names that Millrace is reached by.

The port is taken first of all, so that a taken one is known before any long step.
"""

import os
import socket
import sys

from api.server.progress import give_up

_LOOPBACK = ("localhost", "127.0.0.1", "[::1]")
_EVERYWHERE = {"0.0.0.0", "::"}  # noqa: S104 - compared, not bound
_ELSEWHERE = ("192.0.2.1", 9)  # RFC 5737: an address that nobody has


def hold_port(host: str, port: int) -> socket.socket:
    """Listen on the port without answering yet; end the command plainly if it is taken."""
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
    except socket.gaierror as error:
        raise give_up(f"there is no listening on {host} port {port}: {error}") from None
    held = socket.socket(family, kind, protocol)
    if sys.platform != "win32":  # there it would let two servers share the port
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        held.bind(address)
        held.listen()
    except OSError as error:
        held.close()
        raise give_up(
            f"port {port} on {host} cannot be used ({error.strerror}). If Millrace runs already, "
            "use that one; or choose another port with --port."
        ) from None
    return held


def address_of(held: socket.socket) -> str:
    """Give the address to open in a browser: on this machine, or near it if that may be."""
    host, port = held.getsockname()[:2]
    if host in _EVERYWHERE:
        host = _address_on_the_network() or "localhost"
    return f"http://{'localhost' if host in {'127.0.0.1', '::1'} else host}:{port}"


def lead_mails_to(held: socket.socket) -> None:
    """Let the links in mails lead to this server, unless the environment says where they lead."""
    if not os.environ.get("MILLRACE_PUBLIC_ORIGIN") and not os.environ.get("MILLRACE_ORIGINS"):
        os.environ["MILLRACE_PUBLIC_ORIGIN"] = address_of(held)


def answer_to_own_names(host: str) -> None:
    """Let the settings accept the names by which a phone nearby may open this machine.

    MILLRACE_HOSTS, where it is set, says all; on the loopback address nobody else can call.
    """
    if "MILLRACE_HOSTS" in os.environ or host in _LOOPBACK:
        return
    name = socket.gethostname()
    own = [name, f"{name}.local", _address_on_the_network()] if host in _EVERYWHERE else [host]
    os.environ["MILLRACE_HOSTS"] = ",".join([*_LOOPBACK, *filter(None, own)])


def _address_on_the_network() -> str | None:
    """Ask the system from which address it would send; connecting a UDP socket sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_ELSEWHERE)
        except OSError:
            return None
        return str(probe.getsockname()[0])
