"""What differs between the species: their way of breeding and the numbers of the model, each with its source."""

import math
from dataclasses import dataclass

IN_THE_MOUTH = "young stay in the mouth"
AT_HATCHING = "released at hatching, after dark"
NEST = "nest, hatches after dark"
HOLDER_PARTS = ("mouth", "eggs", "tails", "food", "loose_fry")
GUARDER_PARTS = ("clutch", "eggs", "loose_fry")


@dataclass(frozen=True)
class MouthTime:
    """Days in the mouth after hatching: (share of households, median days, log-spread of the centre) of each kind."""

    kinds: tuple[tuple[float, float, float], ...]
    male_log_spread: float
    brood_log_spread: float

    def own_log_spread(self) -> float:
        """Log-spread of male and brood together."""
        return math.hypot(self.male_log_spread, self.brood_log_spread)


@dataclass(frozen=True)
class Species:
    """The starting numbers of one species; H is readiness where the young are let go at hatching."""

    name: str
    way: str
    reference_c: float
    hatch_median_days: float
    hatch_log_spreads: tuple[float, float, float]
    silver_ratio: float
    silver_log_spread: float
    mouth_time: MouthTime | None
    early_loss_chance: dict[bool, float]
    loss_per_day: float

    def hatch_log_spread(self) -> float:
        """Log-spread of H without history: books, male and brood together."""
        return math.hypot(*self.hatch_log_spreads)

    def hatches_after_dark(self) -> bool:
        """Whether hatching is the release, in the first hours of the dark."""
        return self.way != IN_THE_MOUTH

    def parts(self) -> tuple[str, ...]:
        """The parts of a look that say something; of any other part a look says nothing."""
        return GUARDER_PARTS if self.way == NEST else HOLDER_PARTS


# By whether he has released before.  Okuda and Yanagisawa 1996 (proxy species): 47 of 361 within a day, 17 to 18 % in
# all; first broods worse.
HOLDERS_EARLY_LOSS = {True: 0.15, False: 0.40}

BANGGAI = Species(
    name="Pterapogon kauderni",
    way=IN_THE_MOUTH,
    reference_c=26.5,  # assumption: mid of the captive range
    hatch_median_days=19.0,  # Vagelli 1999; Sugama 2008: 18 to 19 d
    hatch_log_spreads=(0.06, 0.05, 0.06),  # assumption
    silver_ratio=0.75,  # assumption
    silver_log_spread=0.10,  # assumption
    # Sugama 2008: 3 to 4 d; Vagelli 1999: about 10 d.  The shares and spreads are assumptions.
    mouth_time=MouthTime(((0.75, 3.5, 0.35), (0.25, 9.5, 0.20)), 0.15, 0.20),
    early_loss_chance=HOLDERS_EARLY_LOSS,
    loss_per_day=0.005,  # assumption
)
PAJAMA = Species(
    name="Sphaeramia nematoptera",
    way=AT_HATCHING,
    reference_c=27.0,  # assumption
    hatch_median_days=8.0,  # weak sources: 8 to 9 d, less half a day
    hatch_log_spreads=(0.10, 0.05, 0.06),  # assumption
    silver_ratio=0.75,  # assumption
    silver_log_spread=0.10,  # assumption
    mouth_time=None,
    early_loss_chance=HOLDERS_EARLY_LOSS,
    loss_per_day=0.005,  # assumption
)
CLOWNFISH = Species(
    name="Amphiprion ocellaris",
    way=NEST,
    reference_c=27.5,  # Yasir and Qin 2007: 27 to 28 deg C
    hatch_median_days=5.83,  # Yasir and Qin 2007: 152 h, less half a day
    hatch_log_spreads=(0.10, 0.05, 0.05),  # assumption
    silver_ratio=0.84,  # assumption: silver about a day before
    silver_log_spread=0.06,  # assumption
    mouth_time=None,
    early_loss_chance={True: 0.05, False: 0.30},  # assumption
    loss_per_day=0.01,  # assumption
)
SPECIES = {species.name: species for species in (BANGGAI, PAJAMA, CLOWNFISH)}
