"""A new database's identity, and its keys for Web Push in the form of RFC 8292."""

from __future__ import annotations

from base64 import urlsafe_b64decode
from uuid import UUID

from cryptography.hazmat.primitives.asymmetric import ec

from holdwatch.services.identity import new_identity


def decode(text: str) -> bytes:
    assert "=" not in text
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def test_every_database_has_its_own_ids():
    one, other = new_identity(), new_identity()
    ids = {one.database_id, one.epoch, other.database_id, other.epoch}
    assert len(ids) == 4
    assert all(UUID(text).version == 4 for text in ids)


def test_the_keys_are_a_pair_on_p256_of_the_lengths_that_push_services_expect():
    # RFC 8292, 3.2: the public key is the uncompressed point, 65 octets beginning with 0x04.
    identity = new_identity()
    private, public = decode(identity.vapid_private), decode(identity.vapid_public)
    assert (len(private), len(public), public[0]) == (32, 65, 4)
    point = ec.derive_private_key(int.from_bytes(private, "big"), ec.SECP256R1()).public_key().public_numbers()
    assert public[1:] == point.x.to_bytes(32, "big") + point.y.to_bytes(32, "big")
