"""What is believed of a brood before any look: seven latents as quantile functions of normal scores.

Readings the page leaves open, decided here: the earliest possible spawn of one that was seen is three errors before
it, and an error under a minute counts as a minute; without `not_before` the spawn lies at most 30 d before the first
mouth *full*, colour of eggs or tails *seen*, or else before the first courtship, the catch, or the latest possible
spawn, and always before that latest; several courtships share the density of one equally, and what of their 36 h
falls outside the possible times is lost to the rest; no hold is looked for more than 400 d before now (or before
`not_after`), nor more than 400 d ahead.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr, ndtri

from holdwatch.domain.clock import days_between
from holdwatch.domain.forecast.evidence import Evidence, Spawn
from holdwatch.domain.looks import Look
from holdwatch.domain.species import Development, MouthTime, Profile, Spawning

LATENTS = 7
# Beyond this the normal density is under 1e-31: such a point has no weight, but its latents must stay finite.
FARTHEST_SCORE = 12.0
FARTHEST_FROM_NOW = timedelta(days=400)
SPAWN, HATCH, SILVER, MOUTH, LETTING_GO, Q10, OFFSET = range(LATENTS)
# No brood has both: what waits for the dark does not stay in the mouth.
WAIT = MOUTH


@dataclass(frozen=True)
class Latents:
    """Seven latents of n points: the spawn in days since the origin, the rest in reference days, days, °C.

    Where hatching after dark is the release, `mouth_age` and `letting_go_days` are 0 and `wait_days` is the time from
    lamps-out to hatching; elsewhere that is 0.
    """

    spawn: np.ndarray
    hatch_age: np.ndarray
    silver_age: np.ndarray
    mouth_age: np.ndarray
    letting_go_days: np.ndarray
    wait_days: np.ndarray
    q10: np.ndarray
    offset_c: np.ndarray


class LogTable(NamedTuple):
    """The quantile function of a positive quantity: normal `scores`, rising, and its natural log at each."""

    scores: np.ndarray
    logs: np.ndarray

    def at(self, scores: np.ndarray) -> np.ndarray:
        """Return the quantity at normal scores."""
        return np.exp(np.interp(scores, self.scores, self.logs))

    def median(self) -> float:
        """Return the median of the quantity."""
        return float(self.at(np.zeros(1))[0])


@dataclass(frozen=True)
class Learned:
    """What the household's finished broods have taught of the next brood of one male.

    Quantile functions of H and, where young stay in the mouth, D in reference days, the male's chance of an early
    loss, and from how many broods, of the household and his own.
    """

    hatch: LogTable
    mouth: LogTable | None
    early_chance: float
    broods: int
    own_broods: int


def latents(
    scores: np.ndarray, evidence: Evidence, profile: Profile, offset_spread_c: float, learned: Learned | None = None
) -> Latents:
    """Return the latents at normal `scores`, shape (n, 7), by their prior quantile functions."""
    scores = np.clip(scores, -FARTHEST_SCORE, FARTHEST_SCORE)
    development = profile.development
    if learned:
        hatch_age = learned.hatch.at(scores[:, HATCH])
    else:
        hatch_age = _lognormal(scores[:, HATCH], development.hatch_days, hatch_spread(development))
    mouth_age, letting_go_days = _in_the_mouth(scores, profile.mouth, learned)
    longest_wait = profile.hatching.longest_wait_hours / 24 if profile.hatching else 0.0
    return Latents(
        spawn=_spawn(scores[:, SPAWN], evidence, profile.spawning),
        hatch_age=hatch_age,
        silver_age=hatch_age * _silver_share(scores[:, SILVER], development),
        mouth_age=mouth_age,
        letting_go_days=letting_go_days,
        wait_days=longest_wait * ndtr(scores[:, WAIT]),
        q10=_lognormal(scores[:, Q10], development.q10, development.q10_spread),
        offset_c=offset_spread_c * scores[:, OFFSET],
    )


def _in_the_mouth(
    scores: np.ndarray, mouth: MouthTime | None, learned: Learned | None
) -> tuple[np.ndarray, np.ndarray]:
    """Return the time from hatching to the first young let go, and from the first to the last; 0 if let go at once."""
    if mouth is None:
        return np.zeros(len(scores)), np.zeros(len(scores))
    table = learned.mouth if learned and learned.mouth else mouth_time_table(mouth)
    return table.at(scores[:, MOUTH]), _lognormal(scores[:, LETTING_GO], mouth.release_days, mouth.release_days_spread)


def earliest_spawn(evidence: Evidence, spawning: Spawning) -> datetime:
    """Return the earliest instant at which the brood can have been spawned: the origin of all its days."""
    if evidence.spawn:
        return _instant(evidence.spawn.at) - 3 * _error(evidence.spawn)
    latest = latest_spawn(evidence)
    unseen = timedelta(days=spawning.longest_unseen_days)
    bound = _instant(evidence.not_before) if evidence.not_before else _earliest_sign(evidence) - unseen
    return max(bound, min(latest, _instant(evidence.now)) - FARTHEST_FROM_NOW)


def latest_spawn(evidence: Evidence) -> datetime:
    """Return the latest instant at which an unseen spawn can have been: `not_after`, or else now."""
    if not evidence.not_after:
        return _instant(evidence.now)
    return min(_instant(evidence.not_after), _instant(evidence.now) + FARTHEST_FROM_NOW)


def _earliest_sign(evidence: Evidence) -> datetime:
    """Days are counted from before now, even where the spawn may still lie ahead."""
    return min(_first_sign(evidence), latest_spawn(evidence), _instant(evidence.now))


def _first_sign(evidence: Evidence) -> datetime:
    signs = [look.at for look in evidence.looks if _is_sign(look)] or list(evidence.courtship)
    signs = signs or ([evidence.catch.at] if evidence.catch else [])
    return min(map(_instant, signs), default=latest_spawn(evidence))


def _is_sign(look: Look) -> bool:
    findings = look.findings()
    colour = findings.get("eggs") in ("orange", "turning", "silver")
    holds = findings.get("mouth") == "full" or findings.get("clutch") == "there"
    return holds or colour or findings.get("tails") == "seen"


def _instant(at: datetime) -> datetime:
    return at.astimezone(UTC)


def _error(spawn: Spawn) -> timedelta:
    return timedelta(minutes=max(spawn.error_min, 1))


def _lognormal(scores: np.ndarray, median: float, spread: float) -> np.ndarray:
    return median * np.exp(spread * scores)


def hatch_spread(development: Development) -> float:
    """Return the spread of log H of a brood of which nothing is known: of books, male and brood together."""
    parts = (development.hatch_spread_books, development.hatch_spread_male, development.hatch_spread_brood)
    return float(np.hypot.reduce(parts))


def _silver_share(scores: np.ndarray, development: Development) -> np.ndarray:
    """Return E/H, lognormal and cut below 1: the quantile at u * Phi(-log r / spread)."""
    log_share, spread = np.log(development.silver_share), development.silver_share_spread
    below = ndtri(ndtr(scores) * ndtr(-log_share / spread))
    return np.exp(log_share + spread * below)


@cache
def mouth_time_table(mouth: MouthTime) -> LogTable:
    """Return the quantile function of D: the kinds of household, widened by males and broods."""
    own = np.hypot(mouth.spread_male, mouth.spread_brood)
    whole = sum(kind.share for kind in mouth.kinds)
    kinds = [(np.log(kind.days), np.hypot(kind.days_spread, own), kind.share / whole) for kind in mouth.kinds]
    log_days = np.linspace(
        min(centre - 9 * spread for centre, spread, _ in kinds),
        max(centre + 9 * spread for centre, spread, _ in kinds),
        20_001,
    )
    below = sum(share * ndtr((log_days - centre) / spread) for centre, spread, share in kinds)
    above = sum(share * ndtr((centre - log_days) / spread) for centre, spread, share in kinds)
    return LogTable(np.where(below < 0.5, ndtri(below), -ndtri(above)), log_days)


def _spawn(scores: np.ndarray, evidence: Evidence, spawning: Spawning) -> np.ndarray:
    origin = earliest_spawn(evidence, spawning)
    if evidence.spawn:
        return days_between(origin, evidence.spawn.at) + scores * (_error(evidence.spawn) / timedelta(days=1))
    courtship = [days_between(origin, at) for at in evidence.courtship]
    edges, mass = _spawn_density(days_between(origin, latest_spawn(evidence)), courtship, spawning)
    return np.interp(ndtr(scores), np.concatenate([[0.0], np.cumsum(mass)]) / mass.sum(), edges)


def _spawn_density(
    last: float, courtship: Sequence[float], spawning: Spawning
) -> tuple[np.ndarray, np.ndarray]:
    """Return edges in days from 0 to `last` and the chance between them: uniform, or raised after a courtship."""
    window = spawning.courtship_hours / 24
    marks = [0.0, last, *courtship, *(start + window for start in courtship)]
    edges = np.unique(np.clip(marks, 0.0, last))
    middle, width = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    started = [(middle >= start) & (middle < start + window) for start in courtship]
    raised = sum(started, np.zeros(middle.size)) * width
    raised *= spawning.courtship_chance / window / max(len(courtship), 1)
    outside = np.where(raised == 0, width, 0.0)
    return edges, raised + (1 - raised.sum()) * outside / max(outside.sum(), 1e-12)
