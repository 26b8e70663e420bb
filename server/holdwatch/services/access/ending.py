"""After a database was set back nobody gets in by what was handed out before: some may have been taken back since."""

from __future__ import annotations

from datetime import datetime

import sqlalchemy as sa

from ...records.instants import milliseconds
from ...store.tables import (
    calendar_feed,
    device_session,
    duty_link,
    invitation,
    push_subscription,
    recovery,
    setup_code,
)


def end_everything(db: sa.Connection, now: datetime) -> None:
    """End all sessions, reminders, calendars, invitations and links of every household; passwords and tokens stay."""
    at = milliseconds(now)
    db.execute(sa.update(device_session).where(device_session.c.revoked_at.is_(None)).values(revoked_at=at))
    db.execute(sa.update(invitation).where(invitation.c.spent_at.is_(None)).values(spent_at=at))
    for table in (push_subscription, calendar_feed, duty_link, recovery, setup_code):
        db.execute(sa.delete(table))
