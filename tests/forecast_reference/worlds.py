"""Worlds in which the model is wrong, and what catching on a night saves in them.

Each world changes one thing of the model's own world, in single broods of households nobody knows:

- no tails: no male lets tails be seen;
- three an evening: three people look within 40 minutes, and each of the others says what the first said with chance
  0.8, else what he sees himself;
- three nights: a third of the young leaves on each of three successive nights, so the last 2 d after the first;
- false normal: a holding male's mouth looks normal with chance 0.25, in any light;
- warm thermometer: readings are 1 deg C too high in half of the broods, and 1 deg C too low in the others.

`saved` counts what the young are worth by their true state at the catch, as the model's night table does with all young
let go counted as free ones; a brood that is never caught lets all go. The best fixed night in hindsight is the number
of nights after the evening of the spawn, or after the day of the first full mouth, that saves most over all broods of a
world. The spawn is known in hindsight only: it is the harder one to beat.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from . import numbers, prior
from .evidence import Reading, days, iso
from .keeper import CATCH, Looking, Truth, chances, one_look, watch
from .likelihood import pose
from .simulate_households import LONGEST_WATCH_DAYS, START, draw_conditions
from .truth import course, states

SHORTEST, LONGEST = 5, 45
ASKED_FROM_DAYS, ASKED_WITHOUT_A_NIGHT_DAYS = 8, 2
MINUTES_BETWEEN_PEOPLE = 18.0


@dataclass(frozen=True)
class World:
    """What is different."""

    name: str
    shows_chance: float = numbers.SHOWS_CHANCE
    people: int = 1
    repeats: float = 0.0
    three_nights: bool = False
    normal_while_holding: float | None = None
    thermometer_c: float | None = None


MODEL = World("as modelled")
WORLDS = (
    World("no tails", shows_chance=0.0),
    World("three an evening", people=3, repeats=0.8),
    World("three nights", three_nights=True),
    World("false normal", normal_while_holding=0.25),
    World("warm thermometer", thermometer_c=1.0),
)


@dataclass(frozen=True)
class WorldBrood:
    """One brood with all the looks that its keeper would make, its truth and its world."""

    document: dict
    truth: Truth
    world: World

    def first_full(self) -> float | None:
        """The instant of the first full mouth that was seen."""
        return next((days(seen["at"]) for seen in self.document["looks"] if seen["mouth"] == "full"), None)

    def as_of(self, now: float) -> dict:
        """The brood as it could be asked at an instant."""
        known = {key: [each for each in self.document[key] if days(each["at"]) <= now] for key in ("readings", "looks")}
        return {**self.document, **known, "now": iso(now)}

    def saved(self, at: float | None) -> float:
        """What a catch at an instant saves, or none at all."""
        free, broods, loss = numbers.SAVED_FREE["others"], self.truth.course, self.truth.loss
        if at is None:
            return 0.0 if self.truth.lost() is not None else free
        here = {name: bool(so[0]) for name, so in states(broods, loss, at).items()}
        held = 0.85 + 0.10 * min(1.0, (at - broods.hatched[0]) / 3.0)
        inside = self._share_inside(at)
        worth = {"eggs": numbers.SAVED_EGGS, "eyed": numbers.SAVED_EYED, "lost": 0.0}
        return next((worth[name] for name in worth if here[name]), inside * held + (1 - inside) * free)

    def _share_inside(self, at: float) -> float:
        first, last = self.truth.course.released[0], self.truth.course.released_last[0]
        if not self.world.three_nights:
            return float(np.clip((last - at) / (last - first), 0, 1))
        return sum(at < night for night in (first, first + 1, first + 2)) / 3


def simulate_brood(world: World, seed: int) -> WorldBrood:
    """One brood of a world."""
    rng = np.random.default_rng(seed)
    document = draw_conditions(rng, START + rng.uniform(0, 300), bool(rng.random() < 0.7), LONGEST_WATCH_DAYS)
    problem = pose(document)
    points = prior.draw(problem.prior, rng, 1)
    if world.thermometer_c:
        points[0, prior.OFFSET] = world.thermometer_c * rng.choice([-1, 1])
    if world.three_nights:
        points[0, prior.LOG_OUT] = np.log(2.0)
    broods = course(problem.clock, points)
    loss = prior.draw_loss(problem.prior, rng, broods.spawned)
    truth = Truth(problem, broods, loss, bool(rng.random() < world.shows_chance))
    looks = watch(rng, truth, days(document["now"]), looking=_looking(world), gives_up=False)
    return WorldBrood(document | looks, truth, world)


def _looking(world: World) -> Looking:
    def looks(rng: np.random.Generator, truth: Truth, at: float, light: str, parts: list[str]) -> list[dict]:
        seen = [_mistaken(world, rng, truth, one_look(rng, truth, at, light, parts)[0])]
        for person in range(1, world.people):
            later = at + person * MINUTES_BETWEEN_PEOPLE / 1440
            own = _mistaken(world, rng, truth, one_look(rng, truth, later, light, parts)[0])
            seen.append(own | {part: seen[0][part] for part in parts if rng.random() < world.repeats})
        return seen

    return looks


def _mistaken(world: World, rng: np.random.Generator, truth: Truth, seen: dict) -> dict:
    """The look with the mouth that this world lets one see: a normal one more often while he holds."""
    if world.normal_while_holding is None:
        return seen
    reading = Reading("mouth", "", days(seen["at"]), seen["light"], 1.0, -1)
    here = states(truth.course, truth.loss, reading.at)
    holds = reading.at >= truth.course.spawned[0] and not (here["lost"][0] or here["released"][0])
    already = chances(reading, truth)[numbers.OUTCOMES["mouth"].index("normal")]
    more = (world.normal_while_holding - already) / (1 - already)
    return seen | ({"mouth": "normal"} if holds and rng.random() < more else {})


def follow(brood: WorldBrood, recommend: Callable[[dict], dict | None]) -> float | None:
    """The instant at which a keeper catches him who does what he is told, if ever.

    recommend(document) is the night to catch, {"at": instant, ...}, of the brood as of an instant, or None. From eight
    days after the first full mouth on he asks at noon: again when a third of the days to the night named has gone by,
    every day in the end, and every other day while there is no night. He catches when the night named is tonight.
    """
    begun, ends = brood.first_full(), days(brood.document["now"])
    noon = np.ceil(begun or ends) + 0.5 + ASKED_FROM_DAYS
    while noon < ends:
        night = recommend(brood.as_of(float(noon)))
        ahead = days(night["at"]) - noon if night else None
        if ahead is not None and ahead < 1:
            return float(noon + ahead)
        noon += max(1, int(ahead / 3)) if ahead is not None else ASKED_WITHOUT_A_NIGHT_DAYS
    return None


def best_fixed_night(broods: list[WorldBrood], since: str = "spawn") -> tuple[int, float]:
    """The number of nights after the "spawn" or the "first full" that saves most over all broods, and how much.

    A brood whose mouth was never seen full cannot be caught so many nights after that.
    """
    begun = [float(brood.truth.course.spawned[0]) if since == "spawn" else brood.first_full() for brood in broods]
    pairs = list(zip(broods, begun, strict=True))
    mean = {
        nights: float(np.mean([brood.saved(_night(at, nights)) for brood, at in pairs]))
        for nights in range(SHORTEST, LONGEST)
    }
    return max(mean.items(), key=lambda item: item[1])


def _night(begun: float | None, nights: int) -> float | None:
    return None if begun is None else np.floor(begun) + nights + CATCH
