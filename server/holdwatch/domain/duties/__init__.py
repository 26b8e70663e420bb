"""What the people of a household must do for one brood, and by when; pure planning."""

from .afterwards import Over
from .claims import Mark, claimed
from .duty import AFTERWARDS, LOOSE, Duty, Kind
from .outlook import Lamps, LookAhead, Outlook, Prospects
from .plan import Watched, planned
from .water import planned_for_water

__all__ = [
    "AFTERWARDS",
    "LOOSE",
    "Duty",
    "Kind",
    "Lamps",
    "LookAhead",
    "Mark",
    "Outlook",
    "Over",
    "Prospects",
    "Watched",
    "claimed",
    "planned",
    "planned_for_water",
]
