"""What is known about a species, as frozen dataclasses of plain floats, with the list of numbers and their sources."""

from dataclasses import dataclass

IN_THE_MOUTH = "young stay in the mouth"
AT_HATCHING = "released at hatching, after dark"
NEST = "nest, hatches after dark"


@dataclass(frozen=True)
class Number:
    """One number of a profile with its unit, the spread of its natural log, its source, and how far it may be off."""

    name: str
    value: float | tuple[float, ...]
    unit: str
    source: str
    spread: float | None = None
    range: tuple[float, float] | None = None


@dataclass(frozen=True)
class Development:
    """The development clock and the steps inside the egg; days are at the reference temperature, spreads of the log."""

    clock: str
    reference_c: float
    q10: float
    q10_spread: float
    zero_c: float
    hatch_days: float
    hatch_spread_books: float
    hatch_spread_male: float
    hatch_spread_brood: float
    silver_share: float
    silver_share_spread: float
    thermometer_spread_c: float
    thermometer_spread_unread_c: float


@dataclass(frozen=True)
class Kind:
    """One kind of household: how long its young stay in the mouth after hatching, and how many are of it."""

    days: float
    days_spread: float
    share: float


@dataclass(frozen=True)
class MouthTime:
    """The time from hatching to the last young let go; spreads of the log."""

    kinds: tuple[Kind, ...]
    spread_male: float
    spread_brood: float
    release_days: float
    release_days_spread: float


@dataclass(frozen=True)
class Hatching:
    """Hatching after dark, which is the release: the wait from lamps-out, even up to the longest, and what is saved."""

    longest_wait_hours: float
    saved_in_the_dark: float


@dataclass(frozen=True)
class Spawning:
    """What is known of the instant of spawning when nobody saw it."""

    courtship_chance: float
    courtship_hours: float
    longest_unseen_days: float


@dataclass(frozen=True)
class Loss:
    """How broods are lost: early with some chance, otherwise at a constant hazard."""

    early_chance_experienced: float
    early_chance_first: float
    early_mean_days: float
    hazard_per_day: float


@dataclass(frozen=True)
class SeenMouth:
    """Chances of full, smaller and normal by what he holds and the class of light."""

    holding_white: tuple[float, ...]
    holding_night: tuple[float, ...]
    releasing: tuple[float, ...]
    empty_white: tuple[float, ...]
    empty_night: tuple[float, ...]
    holding_recalled: tuple[float, ...]
    empty_recalled: tuple[float, ...]


@dataclass(frozen=True)
class SeenClutch:
    """Chances that a clutch in the nest is found there, or gone, by whether there is one."""

    holding: tuple[float, ...]
    empty: tuple[float, ...]


@dataclass(frozen=True)
class SeenEggs:
    """The ordered probit of the colour of eggs; tuples run over daylight, dim white, and red, blue or no light."""

    turning_from: float
    silver_from: float
    spread: tuple[float, ...]
    lapse: tuple[float, ...]
    missed: float
    imagined: float


@dataclass(frozen=True)
class SeenTails:
    """How tails come to be seen after hatching, and mistaken before; `shown_by` is the share of males who show them."""

    shown_by: float
    most: float
    rate_per_day: float
    head_start_days: float
    light: tuple[float, ...]
    sure_share: float
    perhaps_unshown: float
    false_orange: tuple[float, ...]
    false_eyed: tuple[float, ...]


@dataclass(frozen=True)
class SeenFood:
    """Chances of ate, spat and ignored at a normal feeding."""

    holding: tuple[float, ...]
    empty: tuple[float, ...]


@dataclass(frozen=True)
class SeenLooseFry:
    """Chances of seeing loose fry."""

    releasing: float
    released: float
    otherwise: float


@dataclass(frozen=True)
class Seen:
    """The observation model: what each part of a look says; a part that is None is not asked of this species."""

    eggs: SeenEggs
    loose_fry: SeenLooseFry
    catch_fits: float
    mouth: SeenMouth | None
    clutch: SeenClutch | None
    tails: SeenTails | None
    food: SeenFood | None

    def parts(self) -> tuple[str, ...]:
        """Return the parts of a look that say something."""
        every = ("mouth", "clutch", "eggs", "tails", "food", "loose_fry")
        return tuple(part for part in every if getattr(self, part) is not None)


@dataclass(frozen=True)
class Worth:
    """The share of the clutch that is saved of eggs, and of young let go among others or alone."""

    eggs: float
    free_among_others: float
    free_alone: float


@dataclass(frozen=True)
class Held:
    """The share of the clutch that a catch saves of what he holds: young from the first day on, and eyed eggs."""

    young: float
    young_gain: float
    young_gain_days: float
    eyed: float
    eyed_with_tumbler: float


@dataclass(frozen=True)
class Plans:
    """How the two ways of saving a brood go: netting him on the night, and moving him ahead to sit alone."""

    net_succeeds: float
    failed_try_loses: float
    male_cost: float
    people_to_net: float
    move_at_share: float
    move_risk: float
    people_to_move: float


@dataclass(frozen=True)
class Rearing:
    """What young want in the nursery: their yolk, first food, meals and ration by the days since hatching.

    Where the first food is brine shrimp, it is set going anew for each day; another culture is begun `culture_days`
    before and kept, and brine shrimp follow from `shrimp_from_days` on, until `shrimp_until_days`.
    """

    first_food: str
    young: float
    yolk_days: float
    yolk_days_spread: float
    culture_days: float
    shrimp_from_days: float
    shrimp_until_days: float
    meals_a_day: float
    fresh_meal_days: float
    ration_from_days: tuple[float, ...]
    ration_nauplii: tuple[float, ...]
    hours_to_hatch: float
    hours_to_enrich: float
    handling_hours: float
    lost_share: float
    late_costs: float


@dataclass(frozen=True)
class Range:
    """The temperatures that the species is known to live in."""

    low_c: float
    high_c: float


@dataclass(frozen=True)
class Profile:
    """All that the forecast knows about one species.

    `mouth`, `held` and `plans` are those of young that stay in the mouth; `hatching` is that of the other two ways.
    """

    species: str
    common_name: str
    way: str
    temperature: Range
    development: Development
    mouth: MouthTime | None
    hatching: Hatching | None
    spawning: Spawning
    loss: Loss
    seen: Seen
    worth: Worth
    held: Held | None
    plans: Plans | None
    rearing: Rearing
    numbers: tuple[Number, ...]

    def hatches_after_dark(self) -> bool:
        """Return whether hatching is the release, in the first hours of a night."""
        return self.hatching is not None
