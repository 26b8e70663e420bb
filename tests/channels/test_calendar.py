"""The calendar, read by rule (`rfc5545`, by its sections) and by a library other than the one it is written with."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st

import rfc5545
from holdwatch.channels.calendar import Entry, calendar_of
from holdwatch.channels.words import WORDS
from holdwatch.domain.duties import Duty

HOUSEHOLD = "018f6d2a-7c3e-7000-8000-0123456789ab"
ORIGIN = "https://holdwatch.example"
DUE = datetime(2026, 11, 25, 20, 30, tzinfo=UTC)
NOW = datetime(2026, 11, 25, 12, 0, 7, 500_000, tzinfo=UTC)
UNRULY = 'Quill, "the elder"; C:\\new\\nest: 🐟👩‍🔬 ' * 12
ZONES = ("Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Europe/Dublin", "Asia/Kolkata", "UTC")


def entry(due_at: datetime = DUE, zone: str = "Europe/Berlin", key: str = "catch:b1", **more) -> Entry:
    duty = Duty(key, "catch_tonight", "b1", date(2026, 11, 25), due_at, due_at, due_at + timedelta(hours=11))
    return Entry(HOUSEHOLD, duty, zone, **{"sequence": 0, **more})


def done(one: Entry, at: datetime) -> Entry:
    return replace(one, duty=replace(one.duty, done_at=at))


def written(*entries: Entry, now: datetime = NOW) -> bytes:
    return calendar_of(entries, ORIGIN, now)


def event(one: Entry) -> rfc5545.Component:
    (found,) = rfc5545.read(written(one)).named("VEVENT")
    return found


def both_read(*entries: Entry) -> list[tuple[datetime, datetime]]:
    """Beginning and end of each by our rules and by the library, which must agree."""
    body = written(*entries)
    calendar, theirs = rfc5545.read(body), vobject.readOne(body.decode())
    ours = [[rfc5545.instant(calendar, one, name) for one in calendar.named("VEVENT")] for name in ("DTSTART", "DTEND")]
    assert [one.dtstart.value.astimezone(UTC) for one in theirs.vevent_list] == ours[0]
    assert [one.dtend.value.astimezone(UTC) for one in theirs.vevent_list] == ours[1]
    return list(zip(*ours, strict=True))


def test_an_entry_says_what_is_due_when_and_where_to_read_on():
    body = written(entry())
    found = event(entry())
    assert found.text("SUMMARY") == "Catch him tonight, 21:30"
    assert found.text("DESCRIPTION") == WORDS["catch_tonight"][1]
    assert found.value("URL") == "https://holdwatch.example/brood/b1?duty=catch:b1"
    assert found.value("STATUS") == "CONFIRMED" and found.value("TRANSP") == "TRANSPARENT"
    assert ("DTSTART", {"TZID": "Europe/Berlin"}, "20261125T213000") in found.properties
    assert ("DTEND", {"TZID": "Europe/Berlin"}, "20261125T220000") in found.properties
    # 3.8.7.2: in UTC. 3.8.7.3 is not known of what nobody touched yet.
    assert rfc5545.in_utc(found.value("DTSTAMP")) == NOW.replace(microsecond=0) and not found.values("LAST-MODIFIED")
    # 3.8.6.3 and 3.6.6: what an alarm that shows itself must have.
    (alarm,) = found.named("VALARM")
    assert (alarm.value("ACTION"), alarm.value("TRIGGER")) == ("DISPLAY", "-PT30M")
    assert alarm.text("DESCRIPTION") == found.text("SUMMARY")
    theirs = vobject.readOne(body.decode())
    assert theirs.vevent.summary.value == found.text("SUMMARY")
    assert theirs.vevent.valarm.trigger.value == timedelta(minutes=-30)


def test_what_is_fetched_has_no_method_and_nothing_that_recurs():
    calendar = rfc5545.read(written(entry()))
    # 3.7.2: a method is of messages. 3.8.5: each duty is planned by itself, so no rule could be read wrongly.
    assert calendar.values("METHOD") == []
    assert [name for name, _, _ in calendar.named("VEVENT")[0].properties if name in ("RRULE", "RDATE", "EXDATE")] == []
    # RFC 7986, 5.7: only a DURATION.
    assert ("REFRESH-INTERVAL", {"VALUE": "DURATION"}, "PT1H") in calendar.properties


def test_a_calendar_without_duties_still_has_the_component_that_it_must_have():
    calendar = rfc5545.read(written())
    assert [part.name for part in calendar.parts] == ["VTIMEZONE"]
    assert vobject.readOne(written().decode()).vtimezone.tzid.value == "UTC"


def test_fish_and_tank_are_named_only_where_the_names_are_given():
    plain, named = event(entry()), event(entry(male="Quill", tank="Hall"))
    assert not plain.values("LOCATION")
    assert (named.text("SUMMARY"), named.text("LOCATION")) == ("Quill: Catch him tonight, 21:30", "Hall")
    assert event(entry(tank="Hall")).text("SUMMARY") == "Hall: Catch him tonight, 21:30"


@pytest.mark.parametrize("name", [UNRULY, "two\nlines", "n" * 300, "🐟" * 100, ",;\\" * 60, "\\n", "\\\\;n"])
def test_names_come_out_as_they_went_in(name):
    assert event(entry(male=name, tank=name)).text("SUMMARY") == f"{name}: Catch him tonight, 21:30"
    theirs = vobject.readOne(written(entry(male=name, tank=name)).decode()).vevent
    assert theirs.location.value == name


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=80))
@settings(max_examples=200, deadline=None)
def test_whatever_a_name_may_be_comes_out_as_it_went_in(name):
    found = event(entry(male=name, tank=name))
    assert (found.text("SUMMARY"), found.text("LOCATION")) == (f"{name}: Catch him tonight, 21:30", name)


def test_every_change_has_a_higher_sequence_under_the_same_uid():
    # 3.8.7.4: raised by each significant change. 3.8.4.7: the UID stays.
    moved = entry(DUE + timedelta(days=1), sequence=1)
    course = [entry(), moved, replace(moved, withdrawn_at=NOW, sequence=2), replace(moved, sequence=3)]
    found = [event(one) for one in course]
    assert [int(one.value("SEQUENCE")) for one in found] == [0, 1, 2, 3]
    assert len({one.value("UID") for one in found}) == 1
    other_household = replace(entry(), household_id=HOUSEHOLD.replace("a", "b"))
    assert len({event(one).value("UID") for one in (entry(), other_household, entry(key="catch:b2"))}) == 3
    assert HOUSEHOLD not in written(entry()).decode()


def test_what_is_withdrawn_is_cancelled_and_silent():
    at = datetime(2026, 11, 25, 11, 0, tzinfo=UTC)
    found = event(entry(withdrawn_at=at))
    # 3.8.1.11: the word for an event that is off.
    assert found.value("STATUS") == "CANCELLED" and found.parts == []
    assert found.text("SUMMARY") == "Called off: Catch him tonight, 21:30"
    assert rfc5545.in_utc(found.value("LAST-MODIFIED")) == at


def test_what_was_seen_to_says_so_and_rings_no_more():
    at = datetime(2026, 11, 25, 20, 45, tzinfo=UTC)
    found = event(done(entry(male="Quill"), at))
    assert found.value("STATUS") == "CONFIRMED" and found.parts == []
    assert found.text("SUMMARY") == "Seen to: Quill: Catch him tonight, 21:30"
    assert rfc5545.in_utc(found.value("LAST-MODIFIED")) == at


def test_an_entry_reads_the_same_whenever_it_is_fetched():
    early, late = (written(entry(), now=NOW + timedelta(days=days)).decode() for days in (0, 9))
    differing = [one for one, other in zip(early.split("\r\n"), late.split("\r\n"), strict=True) if one != other]
    assert [line.partition(":")[0] for line in differing] == ["DTSTAMP"]


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("month, day", [(3, 8), (3, 29), (4, 5), (10, 4), (10, 25), (11, 1), (7, 1)])
def test_every_half_hour_about_a_change_of_the_clocks_is_the_right_instant(zone, month, day):
    """The days of 2026 on which the clocks change in New York, Berlin, Dublin and on Lord Howe Island, and one more."""
    start = datetime(2026, month, day, tzinfo=UTC) - timedelta(hours=14)
    due = [start + timedelta(minutes=30 * step) for step in range(60)]
    entries = [entry(at, zone, key=f"catch:{at}") for at in due]
    assert both_read(*entries) == [(at, at + timedelta(minutes=30)) for at in due]


def test_two_zones_stand_side_by_side():
    night = [entry(DUE, "Europe/Berlin"), entry(DUE, "America/New_York", key="catch:b2")]
    assert both_read(*night) == [(DUE, DUE + timedelta(minutes=30))] * 2
    calendar = rfc5545.read(written(*night))
    assert [zone.value("TZID") for zone in calendar.named("VTIMEZONE")] == ["America/New_York", "Europe/Berlin"]


def test_the_second_of_two_equal_hours_is_written_in_utc():
    # 3.3.5: with a zone it would mean the first. The clocks go back at 01:00 UTC on 25 October 2026.
    first, second = (datetime(2026, 10, 25, hour, 30, tzinfo=UTC) for hour in (0, 1))
    assert first.astimezone(ZoneInfo("Europe/Berlin")).time() == second.astimezone(ZoneInfo("Europe/Berlin")).time()
    assert ("DTSTART", {"TZID": "Europe/Berlin"}, "20261025T023000") in event(entry(first)).properties
    assert ("DTSTART", {}, "20261025T013000Z") in event(entry(second)).properties


def test_a_zone_says_when_its_offsets_begin_by_the_clock_before():
    (zone,) = rfc5545.read(written(entry())).named("VTIMEZONE")
    # 3.6.5; the Union's clocks change at 01:00 UTC (Directive 2000/84/EC, articles 2 and 3).
    said = {(part.name, *map(part.value, ("DTSTART", "TZOFFSETFROM", "TZOFFSETTO"))) for part in zone.parts}
    assert ("DAYLIGHT", "20260329T020000", "+0100", "+0200") in said
    assert ("STANDARD", "20261025T030000", "+0200", "+0100") in said
