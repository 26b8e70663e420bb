"""Plans the duty about a tank's water: too warm or too cold for who lives in it, told once a spell.

The duty is the tank's and stands as long as the spell lasts. Its key bears the instant at which the spell began, so
that the next spell is another duty. While one stands it is kept, though later readings may move that instant; and a
spell that seemed to be over, until later readings showed that it was not, is not told of again. It is told at once, by
day and by night: water that runs away does not wait for a convenient hour (assumption).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from ..temperature import LONGEST_SILENCE, Spell
from .claims import Mark, claimed
from .duty import KEY_OF_KIND, Duty, Kind

KIND_OF_SPELL: dict[str, Kind] = {"warm": "too_warm", "cold": "too_cold"}


def planned_for_water(
    tank: str,
    spell: Spell | None,
    zone: ZoneInfo,
    before: Mapping[str, Duty],
    standing: Sequence[Duty],
    marks: Sequence[Mark],
    now: datetime,
) -> tuple[Duty, ...]:
    """The tank's duties; what stands and is not among them is withdrawn.

    `before` are all duties that the tank ever had, by key, and `standing` those that were not withdrawn.
    """
    if spell is None:
        return ()
    kind = KIND_OF_SPELL[spell.beyond]
    key = f"{KEY_OF_KIND[kind]}:{tank}:{spell.since:%Y-%m-%dT%H:%MZ}"
    lasting = next((duty for duty in standing if duty.kind == kind and duty.until_at > now), before.get(key))
    begun = lasting or Duty(key, kind, tank, now.astimezone(zone).date(), now, now, now)
    until_at = spell.last_at + LONGEST_SILENCE
    return (claimed(replace(begun, until_at=until_at, taken_by=None, done_at=None, skipped=False, put_off=()), marks),)
