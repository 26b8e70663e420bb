"""Plans the duties of one batch of young; planning again with what stands already changes nothing."""

from __future__ import annotations

from datetime import datetime

from .batch import Batch
from .claims import claimed
from .duty import Duty
from .hatches import planned_hatches
from .meals import planned_meals
from .upkeep import planned_upkeep


def planned_for_nursery(batch: Batch, now: datetime) -> tuple[Duty, ...]:
    """The batch's duties in order of their time; what stands and is not among them is withdrawn."""
    if batch.is_over:
        return ()
    wanted = (*planned_meals(batch, now), *planned_hatches(batch, now), *planned_upkeep(batch, now))
    duties = (claimed(duty, batch.marks) for duty in wanted if duty.until_at > now)
    return tuple(sorted(duties, key=lambda duty: (duty.due_at, duty.key)))
