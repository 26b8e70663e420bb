"""A value that a field has or had, told for people: who wrote it, when, from which phone, and what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ...records.instants import from_milliseconds
from ...records.merge import DEVICE_LENGTH, Stamped
from ...records.stamps import parse_stamp
from ...store.tables import device_session, person


@dataclass(frozen=True)
class Told:
    """One writing of one field."""

    value: Any
    stamp: str
    was: str | None
    at: datetime
    """When, as its stamp says."""
    by: str | None
    """The id of the person who wrote it, None where nobody knows."""
    name: str | None
    """Their name, also that of somebody who has been removed since."""
    phone: str | None
    """What the phone is called that it was written on, None where no session of it is known."""


@dataclass(frozen=True)
class Earlier(Told):
    """A writing that another one replaced or overruled."""

    replaced_by: Told
    apart: bool
    """Whether the one that replaced it did not know of it."""


@dataclass(frozen=True)
class Directory:
    """The names of people and phones."""

    names: Mapping[str, str]
    labels: Mapping[tuple[str, str], str]
    """By device and person: each who shares a phone has a session on it."""
    devices: Mapping[str, str]

    def told(self, field: Stamped) -> Told:
        """That writing as people are told of it."""
        author, device = field.author or "", field.stamp[-DEVICE_LENGTH:]
        at = from_milliseconds(parse_stamp(field.stamp).milliseconds)
        phone = self.labels.get((device, author)) or self.devices.get(device)
        return Told(field.value, field.stamp, field.was, at, author or None, self.names.get(author), phone)

    def earlier(self, field: Stamped, by: Stamped, apart: bool) -> Earlier:
        """A writing that the writing `by` replaced."""
        return Earlier(**vars(self.told(field)), replaced_by=self.told(by), apart=apart)


def directory(db: sa.Connection, household_id: str) -> Directory:
    """Everybody who is or was in the household, and every phone that is or was signed in."""
    people = sa.select(person.c.person_id, person.c.name).where(person.c.household_id == household_id)
    session = device_session.c
    # The latest session of a phone says best what it is: its browser may have changed.
    phones = sa.select(session.device, session.person_id, session.label).where(session.household_id == household_id)
    rows = db.execute(phones.order_by(session.created_at, session.session_id)).all()
    return Directory(
        {person_id: name for person_id, name in db.execute(people)},
        {(device, person_id): label for device, person_id, label in rows},
        {device: label for device, _, label in rows},
    )


def knew_nothing(later: Stamped, earlier: Stamped) -> bool:
    """Whether the writing that followed on `earlier` cannot have known of it.

    What it replaced on its phone is older than `earlier`, which therefore had not come down there. Where that is
    neither `earlier` nor older it was refused and is not kept; what its writer had seen before then is not known.
    """
    of_one_device = later.stamp[-DEVICE_LENGTH:] == earlier.stamp[-DEVICE_LENGTH:]
    return not of_one_device and (later.was is None or later.was < earlier.stamp)
