"""A reader of calendars written from RFC 5545 alone, as strict as its words; each rule names its section."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

LOCAL = "%Y%m%dT%H%M%S"


@dataclass
class Component:
    """What stands between BEGIN and END (section 3.6)."""

    name: str
    properties: list[tuple[str, dict[str, str], str]] = field(default_factory=list)
    parts: list[Component] = field(default_factory=list)

    def named(self, name: str) -> list[Component]:
        """Its parts of this name."""
        return [part for part in self.parts if part.name == name]

    def values(self, name: str) -> list[str]:
        """The values of a property, as they are written."""
        return [value for one, _, value in self.properties if one == name]

    def value(self, name: str) -> str:
        """The value of a property that must be there once."""
        (value,) = self.values(name)
        return value

    def text(self, name: str) -> str:
        """The text of a property that must be there once."""
        return unescaped(self.value(name))


def read(body: bytes) -> Component:
    """The one calendar in a body."""
    root = Component("")
    open_ones = [root]
    for line in content_lines(body):
        name, parameters, value = parsed(line)
        if name == "BEGIN":
            part = Component(value)
            open_ones[-1].parts.append(part)
            open_ones.append(part)
        elif name == "END":
            assert open_ones.pop().name == value
        else:
            open_ones[-1].properties.append((name, parameters, value))
    (calendar,) = root.parts
    assert open_ones == [root] and calendar.name == "VCALENDAR"
    # 3.6: at least one component; 3.7.3 and 3.7.4: both once.
    assert calendar.parts and calendar.value("VERSION") == "2.0" and calendar.value("PRODID")
    return calendar


def content_lines(body: bytes) -> list[str]:
    """Section 3.1: lines end with CRLF, none is longer than 75 octets, and a blank at the beginning continues one."""
    assert body.endswith(b"\r\n")
    lines = body[:-2].split(b"\r\n")
    for line in lines:
        assert len(line) <= 75 and b"\r" not in line and b"\n" not in line, line
        # 3.3.11 and 3.1: no control characters but the tab, and no character cut in two.
        assert re.search("[\x00-\x08\x0a-\x1f\x7f]", line.decode("utf-8")) is None
    return body[:-2].decode("utf-8").replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")


def parsed(line: str) -> tuple[str, dict[str, str], str]:
    """Section 3.1: name, parameters and value; ours need no quoted ones."""
    found = re.fullmatch(r'([A-Z0-9-]+)((?:;[A-Z0-9-]+=[^";:,]+)*):(.*)', line, re.DOTALL)
    assert found, line
    parameters = dict(one.split("=") for one in found[2].split(";")[1:])
    return found[1], parameters, found[3]


def unescaped(value: str) -> str:
    r"""Section 3.3.11: `\\`, `\;`, `\,` and `\n` are escaped, and none of these stands bare."""
    assert re.fullmatch(r"(?:[^\\;,]|\\[\\;,nN])*", value), value
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


def in_utc(value: str) -> datetime:
    """Section 3.3.5, form 2."""
    return datetime.strptime(value, f"{LOCAL}Z").replace(tzinfo=UTC)


def instant(calendar: Component, event: Component, name: str) -> datetime:
    """When that is: in UTC (3.3.5, form 2), or by a zone that the calendar defines (form 3 and 3.6.5)."""
    ((parameters, value),) = [(given, value) for one, given, value in event.properties if one == name]
    if "TZID" not in parameters:
        return in_utc(value)
    zones = {zone.value("TZID"): zone for zone in calendar.named("VTIMEZONE")}
    local = datetime.strptime(value, LOCAL).replace(tzinfo=UTC)
    observances = _observances(zones[parameters["TZID"]])
    fitting = [local - offset for _, offset in observances if _offset_at(observances, local - offset) == offset]
    # 3.3.5: a local time that comes twice is the first one.
    return min(fitting)


def _observances(zone: Component) -> list[tuple[datetime, timedelta]]:
    """The onset of each, which is a local time by the offset before it (3.6.5), and the offset from then on."""
    assert {part.name for part in zone.parts} <= {"STANDARD", "DAYLIGHT"} and zone.named("STANDARD")
    found = []
    for part in zone.parts:
        onset = datetime.strptime(part.value("DTSTART"), LOCAL).replace(tzinfo=UTC)
        found.append((onset - offset_of(part.value("TZOFFSETFROM")), offset_of(part.value("TZOFFSETTO"))))
    return sorted(found)


def _offset_at(observances: list[tuple[datetime, timedelta]], at: datetime) -> timedelta | None:
    begun = [offset for onset, offset in observances if onset <= at]
    return begun[-1] if begun else None


def offset_of(value: str) -> timedelta:
    """Section 3.3.14."""
    found = re.fullmatch(r"([+-])(\d\d)(\d\d)(\d\d)?", value)
    assert found and value not in ("-0000", "-000000"), value
    size = timedelta(hours=int(found[2]), minutes=int(found[3]), seconds=int(found[4] or 0))
    return size if found[1] == "+" else -size
