"""A browser and its push service for tests, by the letter of RFC 8291, RFC 8188 and RFC 8292.

Nothing here is shared with what sends: it decrypts with the primitives of `cryptography` alone.
"""

import base64
import json
import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

CURVE = ec.SECP256R1()


def to_text(content: bytes) -> str:
    return base64.urlsafe_b64encode(content).rstrip(b"=").decode()


def to_bytes(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


@dataclass(frozen=True, kw_only=True)
class Browser:
    """The keys of one subscription, which stay in the browser."""

    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(CURVE))
    auth: bytes = field(default_factory=lambda: secrets.token_bytes(16))

    @property
    def point(self) -> bytes:
        """The public key as RFC 8291 §2.1 has it."""
        return self.key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)

    def subscription(self, endpoint: str) -> dict[str, str]:
        """Return what the browser tells the server."""
        return {"endpoint": endpoint, "p256dh": to_text(self.point), "auth": to_text(self.auth)}

    def open(self, body: bytes) -> bytes:
        """Decrypt a message of one record (RFC 8188 §2.1, RFC 8291 §3.4)."""
        salt, size, length = body[:16], int.from_bytes(body[16:20]), body[20]
        sender, sealed = body[21 : 21 + length], body[21 + length :]
        assert len(sealed) <= size, "One record is all that a push message has."
        shared = self.key.exchange(ec.ECDH(), _public(sender))
        info = b"WebPush: info\x00" + self.point + sender
        secret = _derived(shared, salt=self.auth, info=info, length=32)
        key = _derived(secret, salt=salt, info=b"Content-Encoding: aes128gcm\x00", length=16)
        nonce = _derived(secret, salt=salt, info=b"Content-Encoding: nonce\x00", length=12)
        padded = AESGCM(key).decrypt(nonce, sealed, None)
        message, last = padded.rstrip(b"\x00")[:-1], padded.rstrip(b"\x00")[-1]
        assert last == 2, "The last record ends with 2 (RFC 8188 §2)."
        return message


def subscription(endpoint: str = "") -> dict[str, str]:
    """Return a subscription of some browser at a public address."""
    return Browser().subscription(endpoint or f"https://push.example/{secrets.token_hex(8)}")


def claims_of(authorization: str) -> tuple[dict[str, Any], str]:
    """Check a VAPID signature (RFC 8292 §2); return its claims and the sender's public key."""
    scheme, _, rest = authorization.partition(" ")
    assert scheme == "vapid"
    parts = dict(part.strip().split("=", 1) for part in rest.split(","))
    header, payload, signature = parts["t"].split(".")
    assert json.loads(to_bytes(header)) == {"alg": "ES256", "typ": "JWT"}
    raw = to_bytes(signature)
    r, s = (int.from_bytes(half) for half in (raw[:32], raw[32:]))
    signed = f"{header}.{payload}".encode()
    key = _public(to_bytes(parts["k"]))
    key.verify(utils.encode_dss_signature(r, s), signed, ec.ECDSA(hashes.SHA256()))
    return json.loads(to_bytes(payload)), parts["k"]


def _public(point: bytes) -> ec.EllipticCurvePublicKey:
    return ec.EllipticCurvePublicKey.from_encoded_point(CURVE, point)


def _derived(secret: bytes, *, salt: bytes, info: bytes, length: int) -> bytes:
    return HKDF(hashes.SHA256(), length=length, salt=salt, info=info).derive(secret)


@dataclass(kw_only=True)
class Taken:
    """One request as it came."""

    path: str
    headers: dict[str, str]
    body: bytes


class LocalService:
    """Takes what is sent to it over HTTP, and answers with `status`, once it is not silent."""

    def __init__(self) -> None:
        self.status = 201
        self.taken: list[Taken] = []
        self.refused = 0
        self.is_called, self.is_silent = threading.Event(), threading.Event()
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())

    @property
    def url(self) -> str:
        """Where it is; a path may follow."""
        return f"http://127.0.0.1:{self._server.server_port}"

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        service = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:  # the library's name
                body = self.rfile.read(int(self.headers["Content-Length"]))
                service.is_called.set()
                while service.is_silent.is_set():
                    time.sleep(0.05)
                status = service.status
                if status < 300:
                    taken = Taken(path=self.path, headers=dict(self.headers), body=body)
                    service.taken.append(taken)
                else:
                    service.refused += 1
                self.send_response(status)
                self.end_headers()

            def log_message(self, *_: Any) -> None:
                pass

        return Handler

    @contextmanager
    def running(self) -> Iterator["LocalService"]:
        """Serve for as long as the context lasts."""
        threading.Thread(target=self._server.serve_forever, daemon=True).start()
        try:
            yield self
        finally:
            self._server.shutdown()
            self._server.server_close()
