"""Web Push: encrypted by RFC 8291, signed by RFC 8292, handed to the phone's own push service (RFC 8030)."""

from __future__ import annotations

import hashlib
import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error as NotBase64
from dataclasses import dataclass, field
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime

import requests
from cryptography.hazmat.primitives.asymmetric import ec
from py_vapid import Vapid, VapidException
from pywebpush import WebPushException, webpush

from ..config import Settings
from .budget import Budget
from .direct import DirectSession
from .endpoints import EndpointRefused, EndpointRules, EndpointUnknown, Resolve, endpoint_origin, resolve
from .message import Address, Message, Outcome

LONGEST_SECONDS = 10.0
"""For one message to one phone, from looking its push service up to the end of the answer."""
LONGEST_TTL_SECONDS = 28 * 86400
GONE = (404, 410)
TOO_LONG = 413
TOO_MANY = 429


class BadKeys(Exception):
    """A subscription whose keys cannot be used; the message says which."""


@dataclass(frozen=True)
class PushChannel:
    """Sends to phones; `private_key` and `contact` say who is writing, `origin` is where a tap leads."""

    private_key: str
    contact: str
    origin: str
    rules: EndpointRules = EndpointRules()
    look_up: Resolve = resolve
    session: requests.Session = field(init=False, repr=False, compare=False)
    signer: Vapid = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "session", DirectSession(self.rules, self.look_up))
        object.__setattr__(self, "signer", Vapid.from_string(self.private_key))

    def send(self, address: Address, message: Message, now: datetime) -> Outcome:
        """Hand the message to the push service of one phone; where it is too long, its title alone."""
        try:
            with Budget(LONGEST_SECONDS):
                status, reason, retry_after = self._post(address, payload(message, self.origin), message, now)
                if status == TOO_LONG:
                    status, reason, retry_after = self._post(address, short_payload(message, self.origin), message, now)
        except (EndpointRefused, VapidException) as problem:
            return Outcome("refused", str(problem))
        except (EndpointUnknown, requests.RequestException) as problem:
            return Outcome("later", type(problem).__name__)
        return _outcome(status, reason, _seconds(retry_after, now))

    def _post(self, address: Address, data: str, message: Message, now: datetime) -> tuple[int, str, str | None]:
        subscription = {"endpoint": address.endpoint, "keys": {"p256dh": address.p256dh, "auth": address.auth}}
        try:
            answer = webpush(
                subscription,
                data=data,
                vapid_private_key=self.signer,
                # A new dict each time: the library writes into it, and `aud` is another for each push service.
                vapid_claims={"sub": self.contact, "aud": endpoint_origin(address.endpoint)},
                ttl=_ttl_seconds(message, now),
                headers={"Urgency": "high" if message.urgent else "normal", "Topic": topic(message.duty)},
                timeout=LONGEST_SECONDS,
                requests_session=self.session,
            )
        except WebPushException as problem:
            if problem.status_code is None:
                raise
            return problem.status_code, problem.response.text, problem.retry_after
        return answer.status_code, "", None


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
    except ValueError:
        return 0.0
    aware = date if date.tzinfo else date.replace(tzinfo=UTC)
    return max((aware - now).total_seconds(), 0.0)
