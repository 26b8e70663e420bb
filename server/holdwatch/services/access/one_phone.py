"""Several people of one household may be signed in on one phone, each with a session, and so a cookie, of his own."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import sqlalchemy as sa

from .errors import NoLongerMember, NotUsable, SignedOut
from .sessions import Opened, Who, close_session, whoever

MOST_PEOPLE = 8
"""More people than share a phone in any household, and few enough that asking them all stays cheap (assumption)."""


def who_of_them(db: sa.Connection, held: Mapping[str, str], person_id: str | None, now: datetime) -> tuple[str, Who]:
    """Who asks, of those whose cookies the phone holds by name, and the name of his.

    It is the person named, or without a name whoever signed in last: SignedOut where that is nobody, and where he has
    left the household, in words that say so.
    """
    present, left = _present(db, held, now)
    asked = {name: who for name, who in present.items() if person_id in (None, who.person_id)}
    if not asked:
        raise next((gone for gone in left if person_id in (None, gone.person_id)), SignedOut())
    return max(asked.items(), key=lambda one: (one[1].since, one[1].session_id))


def make_room(
    db: sa.Connection, held: Mapping[str, str], beside: str | None, opened: Opened, now: datetime
) -> frozenset[str]:
    """Let the one who came in onto the phone: the names of the cookies that stay beside his.

    He joins those of his household where a person is named beside whom he comes in. Where none is named they leave,
    for whoever holds the phone does not know of them; an older session of his own and another household always leave.
    NotUsable where the phone belongs to another household at present, or where too many share it.
    """
    (here, _), mine = _present(db, held, now), opened.who
    if any(who.person_id == beside and who.household_id != mine.household_id for who in here.values()):
        raise NotUsable("People of another household are signed in on this device. They have to sign out first.")
    stay = {name for name, who in here.items() if beside is not None and _is_company(who, mine)}
    if len(stay) >= MOST_PEOPLE:
        raise NotUsable(f"{MOST_PEOPLE} people are signed in on this device. One of them has to sign out first.")
    for name, who in here.items():
        if name not in stay:
            close_session(db, who.household_id, who.session_id, now)
    return frozenset(stay)


def _is_company(who: Who, mine: Who) -> bool:
    return who.household_id == mine.household_id and who.person_id != mine.person_id


def _present(db: sa.Connection, held: Mapping[str, str], now: datetime) -> tuple[dict[str, Who], list[NoLongerMember]]:
    """Who is signed in, by the names of their cookies, and who was and has left the household."""
    present, left = {}, []
    # A phone of ours never holds more; whoever sends a thousand does not make us look up as many.
    for name, value in list(held.items())[: 2 * MOST_PEOPLE]:
        try:
            present[name] = whoever(db, value, now)
        except NoLongerMember as gone:
            left.append(gone)
        except SignedOut:
            continue
    return present, left
