"""The duty about a tank's water: one for each spell, whoever took it, and not told of again by a second thought."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from holdwatch.domain.duties import Mark, planned_for_water
from holdwatch.domain.temperature import Spell

ZONE = ZoneInfo("Europe/Copenhagen")
SINCE = datetime(2026, 7, 3, 21, 30, tzinfo=UTC)
NOW = SINCE + timedelta(hours=2)


def planned(spell, before=(), standing=None, marks=(), now=NOW):
    told = {duty.key: duty for duty in before}
    standing = tuple(before) if standing is None else standing
    return planned_for_water("tank-1", spell, ZONE, told, standing, marks, now)


def spell(beyond="warm", since=SINCE, last_at=NOW) -> Spell:
    return Spell(beyond, since, last_at)


@pytest.mark.parametrize(("beyond", "kind", "key"), [("warm", "too_warm", "warm"), ("cold", "too_cold", "cold")])
def test_a_spell_is_a_duty_of_the_tank_told_at_once(beyond, kind, key):
    (duty,) = planned(spell(beyond))
    assert (duty.kind, duty.brood, duty.key) == (kind, "tank-1", f"{key}:tank-1:2026-07-03T21:30Z")
    assert duty.due_at == duty.tell_at == NOW and duty.until_at == NOW + timedelta(hours=24)
    # Half past one at night there is the next day.
    assert duty.night.isoformat() == "2026-07-04"


def test_while_it_lasts_it_is_the_same_duty_though_its_beginning_moves():
    (first,) = planned(spell())
    later = NOW + timedelta(hours=5)
    (second,) = planned(spell(since=SINCE - timedelta(hours=3), last_at=later), [first], now=later)
    assert not second.moved(first) and second.key == first.key
    assert second.until_at == later + timedelta(hours=24)


def test_no_spell_is_no_duty_and_the_next_spell_is_another():
    (first,) = planned(spell())
    assert planned(None, [first]) == ()
    later = NOW + timedelta(hours=8)
    (second,) = planned(spell(since=later, last_at=later), [first], standing=(), now=later)
    assert second.key != first.key and second.tell_at == later


def test_a_spell_that_only_seemed_to_be_over_is_not_told_of_again():
    (first,) = planned(spell())
    later = NOW + timedelta(hours=3)
    (back,) = planned(spell(last_at=later), [first], standing=(), now=later)
    assert back.key == first.key and not back.moved(first)


def test_from_warm_to_cold_is_another_duty():
    (first,) = planned(spell())
    (second,) = planned(spell("cold", since=NOW), [first])
    assert second.kind == "too_cold" and second.key != first.key


def test_what_lapsed_in_silence_is_told_of_anew():
    (first,) = planned(spell())
    later = first.until_at + timedelta(hours=1)
    (second,) = planned(spell(since=later, last_at=later), [first], now=later)
    assert second.key != first.key and second.tell_at == later


def test_it_is_taken_and_done_by_peoples_marks():
    (first,) = planned(spell())
    marks = [Mark("taken", first.key, "mira", NOW, "1"), Mark("done", first.key, "mira", NOW, "2")]
    (taken,) = planned(spell(), [first], marks=marks[:1])
    (done,) = planned(spell(), [first], marks=marks)
    assert (taken.taken_by, taken.done_at, done.done_at) == ("mira", None, NOW)
    (handed_back,) = planned(spell(), [taken], marks=[marks[0], Mark("handed_back", first.key, "mira", NOW, "3")])
    assert handed_back.taken_by is None
