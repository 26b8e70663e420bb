"""What thermometers say, judged: spikes, stuck ones and gaps found, hours averaged, and what that does to a brood."""

from .hours import Hour, Part, hourly
from .shift import development_days, hatch_shift_days
from .spells import BACK_INSIDE_C, Felt, Spell, spell_at
from .spikes import REACH, spikes
from .stuck import Run, stuck_runs
from .water import Gap, LeftOut, Point, Trust, Water, water_of

__all__ = [
    "BACK_INSIDE_C",
    "REACH",
    "Felt",
    "Gap",
    "Hour",
    "LeftOut",
    "Part",
    "Point",
    "Run",
    "Spell",
    "Trust",
    "Water",
    "development_days",
    "hatch_shift_days",
    "hourly",
    "spell_at",
    "spikes",
    "stuck_runs",
    "water_of",
]
