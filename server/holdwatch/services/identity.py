"""The identity of a database: its id, its epochs, and its keys for Web Push."""

from __future__ import annotations

from base64 import urlsafe_b64encode
from collections.abc import Iterable
from dataclasses import replace
from hashlib import sha256
from hmac import compare_digest, new
from secrets import token_bytes
from uuid import UUID, uuid4

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from ..store.migrate import Identity

HEAD_BYTES = 8


def new_identity() -> Identity:
    """A new database id and epoch, and a P-256 key pair for VAPID (RFC 8292).

    The private key is the 32 octets of its number, the public key the 65 octets of the uncompressed
    point (RFC 8292, section 3.2), both in base64url without padding.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    private = _base64url(key.private_numbers().private_value.to_bytes(32, "big"))
    public = key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return Identity(str(uuid4()), _new_epoch(private), private, _base64url(public))


def set_back(identity: Identity, known: Iterable[str] = ()) -> Identity:
    """The identity with a new epoch; those before it are remembered, and the further ones that are `known`."""
    earlier = {*identity.earlier_epochs.split(), identity.epoch, *known}
    return replace(identity, epoch=_new_epoch(identity.vapid_private), earlier_epochs=" ".join(sorted(earlier)))


def is_earlier(identity: Identity, epoch: str | None) -> bool:
    """Whether this database, or another restored from the same copy, once had that epoch and has another one now."""
    if epoch is None or epoch == identity.epoch:
        return False
    return epoch in identity.earlier_epochs.split() or _is_sealed(identity.vapid_private, epoch)


def _new_epoch(secret: str) -> str:
    """A UUID of version 8 (RFC 9562, 5.8): 58 random bits, and as many as fit of a seal that only this database makes.

    A copy knows nothing of the epochs that were given after it was taken. Where it is restored a second time, and what
    was restored first is lost, phones come with one of those: the seal tells that it was no invention.
    """
    head = bytearray(token_bytes(HEAD_BYTES))
    head[6] = head[6] & 0x0F | 0x80
    return _sealed(secret, bytes(head))


def _is_sealed(secret: str, epoch: str) -> bool:
    try:
        head = UUID(epoch).bytes[:HEAD_BYTES]
    except ValueError:
        return False
    return compare_digest(_sealed(secret, head).encode(), epoch.encode())


def _sealed(secret: str, head: bytes) -> str:
    tail = bytearray(new(secret.encode(), b"holdwatch epoch " + head, sha256).digest()[: 16 - HEAD_BYTES])
    tail[0] = tail[0] & 0x3F | 0x80
    return str(UUID(bytes=head + bytes(tail)))


def _base64url(octets: bytes) -> str:
    return urlsafe_b64encode(octets).rstrip(b"=").decode()
