"""What a reminder says on a lock screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import get_args

import pytest

from holdwatch.channels.message import MOVED
from holdwatch.channels.words import WORDS, amount_words, message_of
from holdwatch.domain.duties import Amount, Duty, Kind

AT = datetime(2026, 11, 25, 21, 30, tzinfo=UTC)
CATCH = Duty(
    "catch:b1", "catch_tonight", "b1", date(2026, 11, 25), AT, AT - timedelta(hours=4), AT + timedelta(hours=10), "ada"
)


def test_every_kind_of_duty_has_its_words():
    assert WORDS.keys() == set(get_args(Kind))
    for kind in get_args(Kind):
        said = message_of(replace(CATCH, kind=kind), "Europe/Berlin", CATCH.tell_at)
        assert said.title and said.body and "{" not in said.title + said.body
        assert "ada" not in (said.title + said.body).lower()


@pytest.mark.parametrize(
    ("zone", "time"), [("Europe/Berlin", "22:30"), ("America/New_York", "16:30"), ("Asia/Kathmandu", "03:15")]
)
def test_the_time_is_that_of_the_clock_at_the_tank(zone, time):
    assert message_of(CATCH, zone, CATCH.tell_at).title == f"Catch him tonight, {time}"


def test_a_catch_whose_time_has_come_is_to_be_made_now():
    assert message_of(CATCH, "Europe/Berlin", AT + timedelta(minutes=1)).title == "Catch him now"


def test_a_window_told_late_does_not_promise_two_days():
    window = replace(CATCH, kind="window_opens")
    assert message_of(window, "UTC", AT + timedelta(hours=23)).title == "Set up the nursery"
    late = message_of(window, "UTC", AT + timedelta(hours=25))
    assert late.title == "Set up the nursery today" and "two days" not in late.body


def test_the_tap_leads_to_the_broods_page_with_the_duty():
    assert message_of(CATCH, "Europe/Berlin", AT).path == "/brood/b1?duty=catch:b1"
    strange = replace(CATCH, key="catch:a b&c=d#e", brood="a/b?c")
    assert message_of(strange, "Europe/Berlin", AT).path == "/brood/a%2Fb%3Fc?duty=catch:a%20b%26c%3Dd%23e"


@pytest.mark.parametrize(
    ("amount", "own"),
    [
        (Amount(8.0, "L", 4.0, "white jug"), "4 × white jug (8 L)"),
        (Amount(0.015, "g", 1.0, "blue spoon"), "blue spoon (0.015 g)"),
        (Amount(8.0, "L"), "8 L"),
        (Amount(measures=1, measure="two pipettes"), "two pipettes"),
        (None, ""),
    ],
)
def test_a_lock_screen_says_how_much_but_not_in_words_that_may_be_anybodys(amount, own):
    assert amount_words(amount) == own
    said = message_of(replace(CATCH, kind="change_water", amount=amount), "Europe/Berlin", AT).body
    plain = "" if amount is None or amount.quantity is None else f"{amount.quantity:g} {amount.unit}. "
    assert said.startswith(f"{plain}From the bottom") and "jug" not in said and "spoon" not in said


def test_what_young_need_leads_to_their_batch():
    meal = replace(CATCH, kind="feed_fry", key="feed:n1:2026-11-25:1", brood="n1")
    assert message_of(meal, "Europe/Berlin", AT).path == "/nursery/n1?duty=feed:n1:2026-11-25:1"


def test_what_has_moved_to_a_time_that_is_over_is_said_as_due_and_not_put_off():
    told = message_of(CATCH, "Europe/Berlin", AT + timedelta(minutes=1), MOVED, AT - timedelta(days=1))
    assert told.title == "Catch him now"


def test_what_the_water_needs_leads_to_the_tanks_page():
    warm = replace(CATCH, kind="too_warm", key="warm:t1:2026-11-25T20:00Z", brood="t1")
    assert message_of(warm, "Europe/Berlin", AT).path == "/tank/t1/temperature?duty=warm:t1:2026-11-25T20:00Z"


def test_a_catch_loose_fry_still_pumps_and_water_are_urgent_and_nothing_else_is():
    urgent = {kind for kind in get_args(Kind) if message_of(replace(CATCH, kind=kind), "UTC", AT).urgent}
    saving = {"catch_tonight", "move_male", "collect_larvae", "fry_loose", "larvae_loose"}
    assert urgent == saving | {"pumps_on", "too_warm", "too_cold", "ammonia_high"}
