"""What is known about a species: `profile` says what a profile holds, `reading` takes it from its file.

A profile is data; the arithmetic gets plain floats, the screens every number with its unit and source.
"""

from .profile import (
    AT_HATCHING,
    IN_THE_MOUTH,
    NEST,
    Development,
    Hatching,
    Held,
    Kind,
    Loss,
    MouthTime,
    Number,
    Plans,
    Profile,
    Range,
    Seen,
    SeenClutch,
    SeenEggs,
    SeenFood,
    SeenLooseFry,
    SeenMouth,
    SeenTails,
    Spawning,
    Worth,
)
from .reading import BadProfile, parse_profile, with_number

__all__ = [
    "AT_HATCHING",
    "BadProfile",
    "Development",
    "Hatching",
    "Held",
    "IN_THE_MOUTH",
    "Kind",
    "Loss",
    "MouthTime",
    "NEST",
    "Number",
    "Plans",
    "Profile",
    "Range",
    "Seen",
    "SeenClutch",
    "SeenEggs",
    "SeenFood",
    "SeenLooseFry",
    "SeenMouth",
    "SeenTails",
    "Spawning",
    "Worth",
    "parse_profile",
    "with_number",
]
