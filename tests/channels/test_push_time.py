"""A push service that wastes our time wastes so much of it and no more, in whatever way it does."""

from __future__ import annotations

import time

import pytest

from channels.push_endpoint import PushEndpoint
from channels.slow_endpoint import WAYS, SlowEndpoint
from channels.test_push import KEY, NOW, message
from channels.test_push import address as address_of
from holdwatch.channels import push
from holdwatch.channels.endpoints import EndpointRules
from holdwatch.channels.message import Address, Outcome
from holdwatch.channels.push import PushChannel

BUDGET_SECONDS = 0.6
AT_MOST_SECONDS = BUDGET_SECONDS + 0.6


@pytest.fixture(autouse=True)
def short_budget(monkeypatch: pytest.MonkeyPatch) -> None:
    assert push.LONGEST_SECONDS == 10.0
    monkeypatch.setattr(push, "LONGEST_SECONDS", BUDGET_SECONDS)


@pytest.fixture
def channel() -> PushChannel:
    return PushChannel(KEY, "mailto:operator@example.org", "https://watch.example.org", EndpointRules(loopback=True))


@pytest.fixture
def keys() -> dict[str, str]:
    """Those of a phone, whichever service it uses."""
    with PushEndpoint(at=NOW) as endpoint:
        return endpoint.phone("ada").subscription()["keys"]


def timed(channel: PushChannel, address: Address) -> tuple[Outcome, float]:
    began = time.monotonic()
    outcome = channel.send(address, message(), NOW)
    return outcome, time.monotonic() - began


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("scheme", ["http", "https"])
def test_a_service_that_comes_to_no_end_is_left_when_the_time_is_up(channel, keys, way: str, scheme: str):
    with SlowEndpoint(way, scheme) as slow:
        outcome, seconds = timed(channel, Address("ada", slow.endpoint, **keys))
        assert outcome.result == "later", outcome
        assert seconds < AT_MOST_SECONDS
        # The line is cut, and not left to itself.
        assert slow.hung_up.wait(5)


def test_a_name_that_takes_for_ever_to_look_up_is_left_when_the_time_is_up(keys):
    def look_up(host: str, port: int) -> list[str]:
        time.sleep(2 * AT_MOST_SECONDS)
        return ["127.0.0.1"]

    channel = PushChannel(KEY, "mailto:a@b.example", "https://watch.example.org", EndpointRules(loopback=True), look_up)
    outcome, seconds = timed(channel, Address("ada", "https://push.example.net/ada", **keys))
    assert (outcome.result, outcome.detail) == ("later", "EndpointUnknown")
    assert seconds < AT_MOST_SECONDS


def test_a_line_that_was_kept_from_the_last_message_is_cut_too(channel):
    with PushEndpoint(at=NOW) as endpoint:
        phone = endpoint.phone("ada")
        assert channel.send(address_of(phone), message(), NOW).result == "sent"
        take = endpoint.take

        def slow(*asked):
            time.sleep(2 * AT_MOST_SECONDS)
            return take(*asked)

        endpoint.take = slow
        outcome, seconds = timed(channel, address_of(phone))
        assert outcome.result == "later" and seconds < AT_MOST_SECONDS


def test_who_answers_in_time_is_not_hurt_by_one_who_did_not(channel, keys):
    with SlowEndpoint("headers without end") as slow, PushEndpoint(at=NOW) as endpoint:
        phone = endpoint.phone("ada")
        for _ in range(2):
            assert channel.send(Address("ada", slow.endpoint, **keys), message(), NOW).result == "later"
            assert channel.send(address_of(phone), message(), NOW).result == "sent"
        assert len(endpoint.delivered()) == 2
