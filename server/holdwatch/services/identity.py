"""The identity that a new database is given: its ids and its keys for Web Push."""

from __future__ import annotations

from base64 import urlsafe_b64encode
from uuid import uuid4

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from ..store.migrate import Identity


def new_identity() -> Identity:
    """A new database id and epoch, and a P-256 key pair for VAPID (RFC 8292).

    The private key is the 32 octets of its number, the public key the 65 octets of the uncompressed
    point (RFC 8292, section 3.2), both in base64url without padding.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    private = key.private_numbers().private_value.to_bytes(32, "big")
    public = key.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    return Identity(str(uuid4()), str(uuid4()), _base64url(private), _base64url(public))


def _base64url(octets: bytes) -> str:
    return urlsafe_b64encode(octets).rstrip(b"=").decode()
