"""What the people of a household must do for one brood, and by when; pure planning."""

from .claims import Mark, claimed
from .duty import LOOSE, Duty, Kind
from .outlook import Lamps, LookAhead, Outlook, Prospects
from .plan import Watched, planned
from .water import planned_for_water

__all__ = [
    "LOOSE",
    "Duty",
    "Kind",
    "Lamps",
    "LookAhead",
    "Mark",
    "Outlook",
    "Prospects",
    "Watched",
    "claimed",
    "planned",
    "planned_for_water",
]
