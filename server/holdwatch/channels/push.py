"""Web Push: encrypted by RFC 8291, signed by RFC 8292, handed to the phone's own push service (RFC 8030)."""

from __future__ import annotations

import hashlib
import json
import ssl
from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error as NotBase64
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from functools import lru_cache

import requests
from cryptography.hazmat.primitives.asymmetric import ec
from py_vapid import Vapid, VapidException
from pywebpush import WebPusher
from urllib3.exceptions import HTTPError

from ..config import Settings
from .budget import Budget
from .direct import Answer, DirectSession
from .endpoints import EndpointRefused, EndpointRules, EndpointUnknown, Resolve, endpoint_origin, resolve
from .message import Address, Message, Outcome

LONGEST_SECONDS = 10.0
"""For one message to one phone, from looking its push service up to the end of the answer."""
LONGEST_TTL_SECONDS = 28 * 86400
GONE = (404, 410)
TOO_LONG = 413
TOO_MANY = 429
SIGNED_SECONDS = 2 * 3600
SIGNED_FOR_SERVICES = 100


class BadKeys(Exception):
    """A subscription whose keys cannot be used; the message says which."""


def _trusting() -> ssl.SSLContext:
    # Certificates are checked, and that they are the named host's.
    return ssl.create_default_context(cafile=requests.certs.where())


@dataclass(frozen=True)
class PushChannel:
    """Sends to phones; `private_key` and `contact` say who is writing, `origin` is where a tap leads."""

    private_key: str
    contact: str
    origin: str
    rules: EndpointRules = EndpointRules()
    look_up: Resolve = resolve
    tls: ssl.SSLContext = field(default_factory=_trusting, repr=False, compare=False)
    session: DirectSession = field(init=False, repr=False, compare=False)
    signed: Callable[[str, int], str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        signer = Vapid.from_string(self.private_key)

        @lru_cache(SIGNED_FOR_SERVICES)
        def signed(audience: str, ends_at: int) -> str:
            return signer.sign({"sub": self.contact, "aud": audience, "exp": ends_at})["Authorization"]

        object.__setattr__(self, "session", DirectSession(self.rules, self.look_up, self.tls))
        object.__setattr__(self, "signed", signed)

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Hand the message to the push service of one phone; where it is too long, its title alone."""
        try:
            with Budget(LONGEST_SECONDS):
                answer = self._post(address, payload(message, self.origin), message, now)
                if answer.status == TOO_LONG:
                    answer = self._post(address, short_payload(message, self.origin), message, now)
        except (EndpointRefused, VapidException) as problem:
            return Outcome("refused", str(problem))
        except (EndpointUnknown, HTTPError) as problem:
            return Outcome("later", type(problem).__name__)
        return _outcome(answer.status, answer.text, _seconds(answer.headers.get("Retry-After"), now))

    def _post(self, address: Address, data: str, message: Message, now: datetime) -> Answer:
        subscription = {"endpoint": address.endpoint, "keys": {"p256dh": address.p256dh, "auth": address.auth}}
        headers = {
            "Authorization": self.signed(endpoint_origin(address.endpoint), signed_until(now)),
            "Content-Encoding": "aes128gcm",
            "Content-Type": "application/octet-stream",
            "TTL": str(_ttl_seconds(message, now)),
            "Urgency": "high" if message.urgent else "normal",
            "Topic": topic(message.duty),
        }
        return self.session.post(address.endpoint, WebPusher(subscription).encode(data.encode())["body"], headers)


def signed_until(now: datetime) -> int:
    """The end of a signature that is made now: the same for a while, for signing takes its time.

    A signature may be used again until its end, at most 24 hours ahead (RFC 8292, 2): this one's is two to four hours
    ahead.
    """
    return (int(now.timestamp()) // SIGNED_SECONDS + 2) * SIGNED_SECONDS


def push_channel(settings: Settings, private_key: str) -> PushChannel:
    """The channel as the operator has set it up, signing with that key."""
    return PushChannel(private_key, settings.contact, settings.origin, EndpointRules(loopback=settings.push_loopback))


def payload(message: Message, origin: str) -> str:
    """The declarative form: read by the system where it knows it, by our worker elsewhere."""
    return _payload(message, origin, {"body": message.body, "requireInteraction": message.urgent})


def short_payload(message: Message, origin: str) -> str:
    """The same with the title alone."""
    return _payload(message, origin, {"body": ""})


def _payload(message: Message, origin: str, more: dict[str, object]) -> str:
    notification = {
        "title": message.title,
        "navigate": f"{origin}{message.path}",
        "lang": message.language,
        "tag": message.duty,
        "data": {"brood": message.brood} | ({"duty": message.duty} if message.has_buttons else {}),
        **more,
    }
    form = {"web_push": 8030, "notification": notification}
    return json.dumps(form, ensure_ascii=False, separators=(",", ":"))


def topic(duty: str) -> str:
    """A newer message about a duty takes the place of one not yet fetched; at most 32 characters (RFC 8030, 5.4)."""
    return urlsafe_b64encode(hashlib.sha256(duty.encode()).digest()[:24]).decode()


def check_keys(p256dh: str, auth: str) -> None:
    """BadKeys unless `p256dh` is a point on P-256 (RFC 8291, 3.1) and `auth` 16 octets (3.2)."""
    try:
        ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), _octets(p256dh, 65))
    except ValueError:
        raise BadKeys("p256dh must be an uncompressed point on P-256, base64url") from None
    try:
        _octets(auth, 16)
    except ValueError:
        raise BadKeys("auth must be 16 octets, base64url") from None


def _octets(text: str, length: int) -> bytes:
    try:
        found = urlsafe_b64decode(text.encode("ascii") + b"=" * (-len(text) % 4))
    except (NotBase64, UnicodeEncodeError) as problem:
        raise ValueError(str(problem)) from problem
    if len(found) != length:
        raise ValueError(f"{len(found)} octets in the place of {length}")
    return found


def _ttl_seconds(message: Message, now: datetime) -> int:
    """Until the end of the duty: a message fetched after that would be of no use."""
    left = int((message.until - now).total_seconds())
    return min(max(left, 0), LONGEST_TTL_SECONDS)


def _outcome(status: int, reason: str, retry_after_seconds: float) -> Outcome:
    shown = "".join(letter for letter in reason[:200] if letter.isprintable())
    said = f"the push service answered {status} {shown}".strip()
    if status < 300:
        return Outcome("sent")
    if status in GONE:
        return Outcome("gone", said)
    if status == TOO_MANY or status >= 500:
        return Outcome("later", said, retry_after_seconds)
    return Outcome("refused", said)


def _seconds(retry_after: str | None, now: datetime) -> float:
    """Retry-After as seconds: a number or a date (RFC 9110, 10.2.3); 0 where it is neither."""
    text = (retry_after or "").strip()
    if text.isascii() and text.isdigit():
        return float(text[:9])
    try:
        date = parsedate_to_datetime(text)
        aware = date if date.tzinfo else date.replace(tzinfo=UTC)
        return max((aware - now).total_seconds(), 0.0)
    except (ValueError, OverflowError):
        # No date at all, or one of a year that there is not.
        return 0.0
