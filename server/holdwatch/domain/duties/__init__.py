"""What the people of a household must do for a brood, a tank or a batch, and by when; pure planning."""

from .afterwards import Over
from .batch import Batch, Change, Measure
from .claims import Mark, claimed
from .duty import AFTERWARDS, LOOSE, OF_A_NURSERY, Amount, Duty, Kind
from .hatches import Planned, Supply, planned_first_food
from .nursery import planned_for_nursery
from .outlook import Lamps, LookAhead, Outlook, Prospects
from .plan import Watched, planned
from .water import planned_for_water

__all__ = [
    "AFTERWARDS",
    "Amount",
    "Batch",
    "Change",
    "LOOSE",
    "Duty",
    "Kind",
    "Lamps",
    "LookAhead",
    "Mark",
    "Measure",
    "OF_A_NURSERY",
    "Outlook",
    "Over",
    "Planned",
    "Prospects",
    "Supply",
    "Watched",
    "claimed",
    "planned",
    "planned_first_food",
    "planned_for_nursery",
    "planned_for_water",
]
