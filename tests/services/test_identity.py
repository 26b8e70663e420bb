"""A new database's identity, and its keys for Web Push in the form of RFC 8292."""

from __future__ import annotations

from base64 import urlsafe_b64decode
from uuid import RFC_4122, UUID

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from holdwatch.services.identity import is_earlier, new_identity, set_back


def decode(text: str) -> bytes:
    assert "=" not in text
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


def test_every_database_has_its_own_ids():
    one, other = new_identity(), new_identity()
    ids = {one.database_id, one.epoch, other.database_id, other.epoch}
    assert len(ids) == 4
    assert {UUID(identity.database_id).version for identity in (one, other)} == {4}
    # RFC 9562, 5.8: of version 8, and of its variant.
    epochs = [UUID(identity.epoch) for identity in (one, other)]
    assert {(epoch.version, epoch.variant) for epoch in epochs} == {(8, RFC_4122)}


def test_an_epoch_before_this_one_is_known_whether_the_database_remembers_it_or_not():
    first = new_identity()
    second = set_back(first)
    assert second.earlier_epochs == first.epoch != second.epoch
    # Set back to the very same copy once more: it knows nothing of the second epoch.
    third = set_back(first, ["e0f1a2b3-c4d5-4e6f-8a7b-9c0d1e2f3a4b"])
    assert is_earlier(third, first.epoch) and is_earlier(third, second.epoch)
    assert is_earlier(third, "e0f1a2b3-c4d5-4e6f-8a7b-9c0d1e2f3a4b")
    assert (second.database_id, second.vapid_private) == (first.database_id, first.vapid_private)


INVENTED = (None, "", "nonsense", str(UUID(int=7)), new_identity().epoch, "é" * 36, "١" * 32)


@pytest.mark.parametrize("invented", INVENTED, ids=range(len(INVENTED)))
def test_nobody_can_invent_an_epoch_and_the_present_one_is_none_before_it(invented: str | None):
    identity = set_back(new_identity())
    assert not is_earlier(identity, invented)
    assert not is_earlier(identity, identity.epoch)
    assert not is_earlier(identity, identity.epoch.upper())


def test_the_keys_are_a_pair_on_p256_of_the_lengths_that_push_services_expect():
    # RFC 8292, 3.2: the public key is the uncompressed point, 65 octets beginning with 0x04.
    identity = new_identity()
    private, public = decode(identity.vapid_private), decode(identity.vapid_public)
    assert (len(private), len(public), public[0]) == (32, 65, 4)
    point = ec.derive_private_key(int.from_bytes(private, "big"), ec.SECP256R1()).public_key().public_numbers()
    assert public[1:] == point.x.to_bytes(32, "big") + point.y.to_bytes(32, "big")
