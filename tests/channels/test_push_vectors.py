"""The encryption and the signature this project relies on give the published values."""

from __future__ import annotations

import http_ece
import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from channels.push_endpoint import Fault, _check_signature, from_base64url, to_base64url, verified_claims
from channels.test_push import NOW

# RFC 8291 section 5 and appendix A.
UA_PRIVATE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
UA_PUBLIC = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
AS_PRIVATE = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
AUTH = "BTBZMqHH6r4Tts7J_aSIgg"
SALT = "DGv6ra1nlYgDCS1FRnbzlw"
PLAINTEXT = b"When I grow up, I want to be a watermelon"
BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3"
    "jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"
)


def key(private: str) -> ec.EllipticCurvePrivateKey:
    """A private key from its number."""
    return ec.derive_private_key(int.from_bytes(from_base64url(private), "big"), ec.SECP256R1())


def test_rfc_8291_encrypts_to_the_published_body():
    body = http_ece.encrypt(
        PLAINTEXT,
        salt=from_base64url(SALT),
        private_key=key(AS_PRIVATE),
        dh=from_base64url(UA_PUBLIC),
        auth_secret=from_base64url(AUTH),
        version="aes128gcm",
    )
    assert to_base64url(body) == BODY
    assert len(body) == 144


def test_rfc_8291_decrypts_from_the_published_body():
    found = http_ece.decrypt(
        from_base64url(BODY), private_key=key(UA_PRIVATE), auth_secret=from_base64url(AUTH), version="aes128gcm"
    )
    assert found == PLAINTEXT


def test_rfc_8291_public_keys_follow_from_the_private_ones():
    point = key(UA_PRIVATE).public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint)
    assert to_base64url(point) == UA_PUBLIC


def test_rfc_8188_section_3_1_gives_the_published_body():
    body = http_ece.encrypt(
        b"I am the walrus",
        salt=from_base64url("I1BsxtFttlv3u_Oo94xnmw"),
        key=from_base64url("yqdlZ-tYemfogSmv7Ws5PQ"),
        keyid="",
        version="aes128gcm",
    )
    assert to_base64url(body) == "I1BsxtFttlv3u_Oo94xnmwAAEAAA-NAVub2qFgBEuQKRapoZu-IxkIva3MEB1PD-ly8Thjg"


# RFC 8292 section 2.4.
TOKEN = (
    "eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9.eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1MjM3NjgsInN1YiI6"
    "Im1haWx0bzpwdXNoQGV4YW1wbGUuY29tIn0.i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9Ok"
    "SSHzvoD1oA"
)
TOKEN_KEY = "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs"


def test_rfc_8292_published_token_verifies_and_one_changed_octet_does_not():
    signed, _, signature = TOKEN.rpartition(".")
    _check_signature(TOKEN_KEY, signed, from_base64url(signature))
    with pytest.raises(Fault, match="signature"):
        _check_signature(TOKEN_KEY, signed[:-1] + "A", from_base64url(signature))


def test_the_test_push_service_refuses_a_token_of_another_time():
    with pytest.raises(Fault, match="exp"):
        verified_claims(f"vapid t={TOKEN}, k={TOKEN_KEY}", "https://push.example.net", NOW.timestamp())
