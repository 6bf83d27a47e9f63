"""Take the port first of all, so that a taken one is known before any long step."""

import socket
import sys

from api.server.progress import give_up

_THIS_MACHINE = {"0.0.0.0", "::", "127.0.0.1", "::1"}  # noqa: S104 - compared, not bound


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
    """Give the address to open in a browser on this machine."""
    host, port = held.getsockname()[:2]
    return f"http://{'localhost' if host in _THIS_MACHINE else host}:{port}"
