"""A small push service of our own: checks the sender's signature, decrypts with the phone's key, and remembers.

It stands on RFC 8030, 8291 and 8292 with `cryptography` and `http_ece` alone, none of the sender's own code.
"""

from __future__ import annotations

import json
import threading
import time
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import http_ece
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

ONE_DAY_SECONDS = 86400


def from_base64url(text: str) -> bytes:
    """Octets from base64url without padding."""
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def to_base64url(octets: bytes) -> str:
    """base64url without padding."""
    return urlsafe_b64encode(octets).rstrip(b"=").decode()


class Fault(Exception):
    """A request that breaks one of the RFCs; the status is what a push service would answer."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(why)
        self.status = status


@dataclass(frozen=True)
class Received:
    """One message as it came in, decrypted."""

    phone: str
    headers: dict[str, str]
    claims: dict[str, object]
    text: str
    status: int
    at: float
    """By the clock of this machine, in seconds."""

    @property
    def message(self) -> dict:
        """The declarative form."""
        return json.loads(self.text)


@dataclass
class Phone:
    """One subscribed browser: its keys, and what the push service is to answer next."""

    name: str
    endpoint: str
    private_key: ec.EllipticCurvePrivateKey
    auth: bytes
    answers: deque[tuple[int, dict[str, str]]] = field(default_factory=deque)

    def subscription(self) -> dict:
        """What a browser's `PushSubscription.toJSON()` gives."""
        point = self.private_key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
        keys = {"p256dh": to_base64url(point), "auth": to_base64url(self.auth)}
        return {"endpoint": self.endpoint, "keys": keys}

    def answer_next(self, status: int, **headers: str) -> None:
        """Answer so once, instead of 201."""
        self.answers.append((status, {name.replace("_", "-"): value for name, value in headers.items()}))


class PushEndpoint:
    """Listens on a loopback port in a thread of its own; use it as a context."""

    def __init__(self, tls=None, name: str = "127.0.0.1", at: datetime | Callable[[], datetime] | None = None) -> None:
        # Its time by the clock of a test that has its own, standing or going; else the real one.
        self.now = _seconds(at)
        self.phones: dict[str, Phone] = {}
        self.received: list[Received] = []
        self.faults: list[str] = []
        self.strays: list[str] = []
        self.came = threading.Condition()
        self.server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(self))
        self.server.daemon_threads = True
        if tls is not None:
            self.server.socket = tls.wrap_socket(self.server.socket, server_side=True)
        self.origin = f"{'http' if tls is None else 'https'}://{name}:{self.server.server_address[1]}"
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)

    def __enter__(self) -> PushEndpoint:
        self.thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()

    def phone(self, name: str) -> Phone:
        """A new subscribed phone."""
        made = Phone(
            name,
            f"{self.origin}/push/{name}",
            ec.generate_private_key(ec.SECP256R1()),
            name.encode()[:16].ljust(16, b"."),
        )
        self.phones[f"/push/{name}"] = made
        return made

    def delivered(self, phone: str | None = None) -> list[Received]:
        """What was taken with a 2xx, by phone if one is named."""
        with self.came:
            return [r for r in self.received if r.status < 300 and phone in (None, r.phone)]

    def wait_for(self, count: int, seconds: float = 10.0) -> list[Received]:
        """The delivered messages as soon as there are `count`; TimeoutError if there never are."""
        with self.came:
            if not self.came.wait_for(lambda: len([r for r in self.received if r.status < 300]) >= count, seconds):
                raise TimeoutError(f"{len(self.received)} messages, {self.faults}")
        return self.delivered()

    def take(self, path: str, headers: dict[str, str], body: bytes) -> tuple[int, dict[str, str]]:
        """Judge one request as a push service does."""
        with self.came:
            phone = self.phones.get(path)
            if phone is None:
                self.strays.append(path)
                return 404, {}
            try:
                received, more = self._receive(phone, headers, body)
            except Fault as fault:
                self.faults.append(str(fault))
                return fault.status, {}
            self.received.append(received)
            self.came.notify_all()
            return received.status, more

    def _receive(self, phone: Phone, headers: dict[str, str], body: bytes) -> tuple[Received, dict[str, str]]:
        claims = verified_claims(headers.get("authorization", ""), self.origin, self.now())
        if not headers.get("ttl", "").isdigit():
            raise Fault(400, "RFC 8030 5.2: no TTL")
        if headers.get("content-encoding") != "aes128gcm":
            raise Fault(400, "RFC 8291 4: content-encoding must be aes128gcm")
        if len(body) > 4096:
            raise Fault(413, "RFC 8030 7.2: more than 4096 octets")
        text = http_ece.decrypt(body, private_key=phone.private_key, auth_secret=phone.auth, version="aes128gcm")
        status, more = phone.answers.popleft() if phone.answers else (201, {})
        return Received(phone.name, headers, claims, text.decode(), status, time.time()), more


def _seconds(at: datetime | Callable[[], datetime] | None) -> Callable[[], float]:
    if at is None:
        return time.time
    return at.timestamp if isinstance(at, datetime) else lambda: at().timestamp()


def verified_claims(authorization: str, origin: str, now: float) -> dict[str, object]:
    """The claims of a VAPID token whose signature, audience, expiry and contact are right (RFC 8292 2 and 3)."""
    scheme, _, rest = authorization.partition(" ")
    parts = dict(part.strip().partition("=")[::2] for part in rest.split(","))
    if scheme.lower() != "vapid" or not {"t", "k"} <= parts.keys():
        raise Fault(401, "RFC 8292 3: no vapid authorization")
    signed, _, signature = parts["t"].rpartition(".")
    header, claims = (json.loads(from_base64url(part)) for part in signed.split("."))
    _check_signature(parts["k"], signed, from_base64url(signature))
    if header.get("alg") != "ES256":
        raise Fault(401, "RFC 8292 2: alg must be ES256")
    if claims.get("aud") != origin:
        raise Fault(403, f"RFC 8292 2: aud is {claims.get('aud')}, not {origin}")
    if not now < claims.get("exp", 0) <= now + ONE_DAY_SECONDS:
        raise Fault(403, "RFC 8292 2: exp must lie within 24 hours")
    if not str(claims.get("sub")).startswith(("mailto:", "https:")):
        raise Fault(403, "RFC 8292 2.1: no contact")
    return claims


def _check_signature(key: str, signed: str, signature: bytes) -> None:
    public = ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), from_base64url(key))
    r, s = int.from_bytes(signature[:32], "big"), int.from_bytes(signature[32:], "big")
    try:
        public.verify(encode_dss_signature(r, s), signed.encode(), ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        raise Fault(401, "RFC 8292 3: the signature is wrong") from None


def _handler(endpoint: PushEndpoint) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
            if len(body) < int(self.headers.get("Content-Length", 0)):
                # The sender is gone in the middle of a message: no push service would take it.
                self.close_connection = True
                return
            headers = {name.lower(): value for name, value in self.headers.items()}
            status, more = endpoint.take(self.path, headers, body)
            self.send_response(status)
            for name, value in {**more, "Content-Length": "0"}.items():
                self.send_header(name, value)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Tests are quiet."""

    return Handler
