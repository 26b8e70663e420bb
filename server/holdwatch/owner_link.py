"""A new password for the owner who forgot his: `holdwatch owner-link` prints a one-time address on this machine."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from .config import Settings
from .listening import near_address
from .services import access
from .services.access import Owner
from .services.identity import new_identity
from .store.database import open_database, writing
from .store.migrate import migrate


class NoSuchOwner(Exception):
    """There is nobody, or more than one, that could be meant; the message says whom to name."""


def owner_link(settings: Settings, port: int, household: str | None, now: datetime) -> str:
    """What to tell whoever asked: whose password may be set anew, and where. NoSuchOwner unless it is one's."""
    engine = open_database(settings.database_url)
    try:
        migrate(engine, new_identity)
        with writing(engine) as db:
            owner = _meant(access.owners(db), household)
            token = access.new_recovery(db, owner, now)
    finally:
        engine.dispose()
    near = near_address(settings.origin, port)
    return (
        f"{owner.name}, the owner of {owner.household}, signs in as {owner.login}. "
        f"Set a new password on this machine, within the hour and once: {near}/recover#{token}"
    )


def _meant(owners: Sequence[Owner], household: str | None) -> Owner:
    found = [owner for owner in owners if household in (None, owner.household, owner.household_id)]
    if len(found) == 1:
        return found[0]
    if not owners:
        raise NoSuchOwner("Nobody was set up yet. Start the server: it prints an address for that.")
    # Two households may bear one name; their ids are never the same.
    known = ", ".join(f"{owner.household!r} ({owner.household_id})" for owner in owners)
    raise NoSuchOwner(f"Name one of these households, or its id, with --household: {known}.")
