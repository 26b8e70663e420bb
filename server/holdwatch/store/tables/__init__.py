"""All tables; every primary key begins with the household, so that no household joins another.

Instants are whole milliseconds since 1970-01-01 UTC (`*_at`). JSON is canonical text, the same on
both databases. Three tables stand outside any household: `server_identity`, `setup_code`, `attempt`.
"""

from .access import attempt, device_session, invitation, person, recovery, setup_code
from .columns import metadata
from .duties import away, calendar_feed, delivery, duty, duty_link, push_subscription, reminder_wish, rota
from .forecasts import ageing, issued_forecast, lesson, recompute
from .nursery import nursery_watch
from .photos import photo, photo_upload
from .server import server_identity
from .water import reading_token, temperature_hour, temperature_reading, thermometer, water_watch
from .written import derived, history, household, record

__all__ = [
    "ageing",
    "attempt",
    "away",
    "calendar_feed",
    "delivery",
    "derived",
    "device_session",
    "duty",
    "duty_link",
    "history",
    "household",
    "invitation",
    "issued_forecast",
    "lesson",
    "metadata",
    "nursery_watch",
    "person",
    "photo",
    "photo_upload",
    "push_subscription",
    "reading_token",
    "recompute",
    "record",
    "recovery",
    "reminder_wish",
    "rota",
    "server_identity",
    "setup_code",
    "temperature_hour",
    "temperature_reading",
    "thermometer",
    "water_watch",
]
