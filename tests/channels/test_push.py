"""Web Push, against a small push service that checks and decrypts what it is given."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email.utils import format_datetime

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from channels.push_endpoint import PushEndpoint, to_base64url, verified_claims
from holdwatch.channels.endpoints import EndpointRules
from holdwatch.channels.message import Address, Message
from holdwatch.channels.push import BadKeys, PushChannel, check_keys, signed_until, topic

NOW = datetime(2026, 11, 25, 18, 30, tzinfo=UTC)
SECRET = ec.derive_private_key(20261125, ec.SECP256R1())
KEY = to_base64url(SECRET.private_numbers().private_value.to_bytes(32, "big"))


def message(**changes) -> Message:
    """A reminder as it is sent."""
    plain = {
        "title": "Catch tonight, 22:30",
        "body": "Under dim red light.",
        "path": "/brood/b1?duty=catch:b1",
        "duty": "catch:b1",
        "brood": "b1",
        "urgent": True,
        "until": NOW + timedelta(hours=12),
    }
    return Message(**{**plain, **changes})


def address(phone) -> Address:
    """A phone's subscription as the database holds it."""
    given = phone.subscription()
    return Address(phone.name, given["endpoint"], **given["keys"])


@pytest.fixture
def endpoint():
    with PushEndpoint(at=NOW) as running:
        yield running


@pytest.fixture
def channel():
    return PushChannel(KEY, "mailto:operator@example.org", "https://watch.example.org", EndpointRules(loopback=True))


def test_a_message_arrives_signed_encrypted_and_in_the_declarative_form(endpoint, channel):
    phone = endpoint.phone("ada")
    assert channel.send(address(phone), message(), NOW).result == "sent"
    (got,) = endpoint.delivered("ada")
    assert endpoint.faults == []
    assert got.message == {
        "web_push": 8030,
        "notification": {
            "title": "Catch tonight, 22:30",
            "body": "Under dim red light.",
            "navigate": "https://watch.example.org/brood/b1?duty=catch:b1",
            "lang": "en",
            "tag": "catch:b1",
            "requireInteraction": True,
            "data": {"duty": "catch:b1", "brood": "b1"},
        },
    }
    assert got.headers["ttl"] == str(12 * 3600)
    assert got.headers["urgency"] == "high"
    assert got.headers["topic"] == topic("catch:b1") and len(got.headers["topic"]) == 32


def test_a_calm_message_is_of_normal_urgency(endpoint, channel):
    channel.send(address(endpoint.phone("ada")), message(urgent=False), NOW)
    assert endpoint.delivered()[0].headers["urgency"] == "normal"


def test_the_audience_is_right_at_each_of_two_push_services(endpoint, channel):
    with PushEndpoint(at=NOW) as other:
        for place in (endpoint, other, endpoint):
            assert channel.send(address(place.phone("ada")), message(), NOW).result == "sent"
        assert endpoint.faults == other.faults == []
        assert {r.claims["aud"] for r in endpoint.received} == {endpoint.origin}
        assert {r.claims["aud"] for r in other.received} == {other.origin}


@pytest.mark.parametrize(
    ("status", "result"),
    [
        (200, "sent"),
        (202, "sent"),
        (400, "refused"),
        (401, "refused"),
        (403, "refused"),
        (404, "gone"),
        (410, "gone"),
        (429, "later"),
        (500, "later"),
        (503, "later"),
    ],
)
def test_each_answer_of_a_push_service_means_what_the_rfc_says(endpoint, channel, status, result):
    phone = endpoint.phone("ada")
    phone.answer_next(status)
    outcome = channel.send(address(phone), message(), NOW)
    assert outcome.result == result
    assert (str(status) in outcome.detail) == (result != "sent")


@pytest.mark.parametrize("said", [f"Fri, 31 Dec {10**20} 23:59:59 GMT", "x"])
def test_a_time_to_try_again_that_there_is_not_is_none(endpoint, channel, said):
    phone = endpoint.phone("ada")
    phone.answer_next(503, Retry_After=said)
    outcome = channel.send(address(phone), message(), NOW)
    assert (outcome.result, outcome.retry_after_seconds) == ("later", 0.0)


def test_retry_after_is_kept_as_seconds_or_as_a_date(endpoint, channel):
    phone = endpoint.phone("ada")
    phone.answer_next(429, Retry_After="120")
    phone.answer_next(503, Retry_After=format_datetime(NOW + timedelta(minutes=5), usegmt=True))
    phone.answer_next(503, Retry_After="soon")
    waits = [channel.send(address(phone), message(), NOW).retry_after_seconds for _ in range(3)]
    assert waits == [120, 300, 0]


def test_a_message_too_long_is_sent_again_with_its_title_alone(endpoint, channel):
    phone = endpoint.phone("ada")
    phone.answer_next(413)
    assert channel.send(address(phone), message(), NOW).result == "sent"
    (got,) = endpoint.delivered()
    assert got.message["notification"]["title"] == "Catch tonight, 22:30"
    assert got.message["notification"]["body"] == ""


def test_a_message_longer_than_a_push_service_takes_is_shortened(endpoint, channel):
    assert channel.send(address(endpoint.phone("ada")), message(body="x" * 5000), NOW).result == "sent"
    assert endpoint.faults == ["RFC 8030 7.2: more than 4096 octets"]


def test_a_redirect_is_not_followed(endpoint, channel):
    phone = endpoint.phone("ada")
    for status in (301, 302, 307, 308):
        phone.answer_next(status, Location=f"{endpoint.origin}/elsewhere")
        assert channel.send(address(phone), message(), NOW).result == "refused"
    assert endpoint.strays == []


def test_the_proxies_of_the_environment_are_not_asked(endpoint, channel, monkeypatch):
    for name in ("http_proxy", "https_proxy", "all_proxy"):
        monkeypatch.setenv(name, "http://127.0.0.1:9")
    assert channel.send(address(endpoint.phone("ada")), message(), NOW).result == "sent"


def test_a_push_service_that_is_not_there_is_tried_again_later(channel):
    with PushEndpoint(at=NOW) as endpoint:
        phone = endpoint.phone("ada")
    assert channel.send(address(phone), message(), NOW).result == "later"


def test_without_the_setting_this_machine_is_not_written_to(endpoint):
    strict = PushChannel(KEY, "mailto:operator@example.org", "https://watch.example.org")
    outcome = strict.send(address(endpoint.phone("ada")), message(), NOW)
    assert outcome.result == "refused" and "https" in outcome.detail
    assert endpoint.received == []


def test_a_contact_that_is_none_is_the_operators_matter(endpoint):
    channel = PushChannel(KEY, "nobody", "https://watch.example.org", EndpointRules(loopback=True))
    assert channel.send(address(endpoint.phone("ada")), message(), NOW).result == "refused"


def test_a_message_past_its_time_lives_no_second(endpoint, channel):
    channel.send(address(endpoint.phone("ada")), message(until=NOW - timedelta(hours=1)), NOW)
    assert endpoint.delivered()[0].headers["ttl"] == "0"


def test_keys_that_cannot_be_used_are_refused_by_name(endpoint):
    good = endpoint.phone("ada").subscription()["keys"]
    check_keys(**good)
    for p256dh in ("", "AAAA", "\u00fc", to_base64url(b"\x04" + bytes(64)), good["auth"]):
        with pytest.raises(BadKeys, match="p256dh"):
            check_keys(p256dh, good["auth"])
    for auth in ("", "AAAA", good["p256dh"], "\u00fc"):
        with pytest.raises(BadKeys, match="auth"):
            check_keys(good["p256dh"], auth)


def test_a_signature_is_used_again_for_a_while_and_never_near_its_end(channel):
    tokens, audience = [], "https://push.example.net"
    for minutes in range(0, 300, 20):
        at = NOW + timedelta(minutes=minutes)
        tokens.append(channel.signed(audience, signed_until(at)))
        claims = verified_claims(tokens[-1], audience, at.timestamp())
        assert timedelta(hours=2) < datetime.fromtimestamp(claims["exp"], UTC) - at <= timedelta(hours=4)
    assert len(set(tokens)) == 3
