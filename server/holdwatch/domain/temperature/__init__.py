"""What thermometers say, judged: spikes, stuck ones and gaps found, hours averaged, and what that does to a brood."""

from .hours import HOUR_MS, Hour, Part, hourly
from .shift import development_days, hatch_shift_days, temperature_at
from .spells import BACK_INSIDE_C, LONGEST_SILENCE, Spell, spell_at
from .spikes import REACH, spikes
from .stuck import Run, stuck_runs
from .water import HOUR, Gap, LeftOut, Point, Trust, Water, begun_hour, hour_instant, hour_number, water_of

__all__ = [
    "BACK_INSIDE_C",
    "HOUR",
    "HOUR_MS",
    "LONGEST_SILENCE",
    "REACH",
    "Gap",
    "Hour",
    "LeftOut",
    "Part",
    "Point",
    "Run",
    "Spell",
    "Trust",
    "Water",
    "begun_hour",
    "development_days",
    "hatch_shift_days",
    "hour_instant",
    "hour_number",
    "hourly",
    "spell_at",
    "spikes",
    "stuck_runs",
    "temperature_at",
    "water_of",
]
