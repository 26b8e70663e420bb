"""The likelihood of one brood's evidence: given the loss and shows, and summed over them."""

from dataclasses import dataclass

import numpy as np

from . import looks, numbers
from .clock import Clock, DegreeDays, make_clock
from .evidence import Brood, Reading, read_brood
from .prior import Learned, Prior, loss_chance, make_prior
from .truth import Course, moment

Shows = np.ndarray | bool


@dataclass(frozen=True)
class Problem:
    """One brood's evidence, its prior and its clock."""

    brood: Brood
    prior: Prior
    clock: Clock


def pose(document: dict, degree_days: DegreeDays | None = None, learned: Learned | None = None) -> Problem:
    """The problem posed by one brood's JSON form, under the books' prior or a learned one."""
    brood = read_brood(document)
    return Problem(brood, make_prior(brood, learned), make_clock(brood, degree_days))


def look_likelihood(look: tuple[Reading, ...], broods: Course, loss: np.ndarray, shows: Shows) -> np.ndarray:
    """Likelihood (n,) of one merged look: each part's readings, each at its own instant, averaged in the log."""
    likelihood = np.ones(len(loss))
    for reading in look:
        likelihood *= looks.chance(reading, moment(broods, loss, shows, reading.at)) ** reading.share
    return likelihood


def likelihood(brood: Brood, broods: Course, loss: np.ndarray, shows: Shows) -> np.ndarray:
    """Likelihood (n,) of all the evidence, given each point's instant of loss and whether the male shows."""
    result = np.ones(len(loss))
    for look in brood.looks:
        result *= look_likelihood(look, broods, loss, shows)
    if brood.catch:
        at, found = brood.catch
        result *= looks.catch_chance(found, moment(broods, loss, shows, at), brood.species)
    return result


def summed_likelihood(problem: Problem, broods: Course) -> np.ndarray:
    """Likelihood (n,) summed over shows and over the intervals between looks in which the loss may fall.

    No look before this one sees a loss in (previous look, this look], so any instant in it, before the release, stands
    for all; a loss after the last look is seen by none.
    """
    before_release = np.nextafter(broods.released, -np.inf)
    total, lost_before = np.zeros(len(before_release)), np.zeros(len(before_release))
    for at in _seen_instants(problem.brood):
        lost_by = loss_chance(problem.prior, broods.spawned, np.minimum(at, broods.released))
        total += (lost_by - lost_before) * _shown_or_not(problem.brood, broods, np.minimum(at, before_release))
        lost_before = lost_by
    return total + (1 - lost_before) * _shown_or_not(problem.brood, broods, np.full(len(total), np.inf))


def _seen_instants(brood: Brood) -> list[float]:
    catch = {brood.catch[0]} if brood.catch else set()
    return sorted({reading.at for look in brood.looks for reading in look} | catch)


def _shown_or_not(brood: Brood, broods: Course, loss: np.ndarray) -> np.ndarray:
    shown, hidden = (likelihood(brood, broods, loss, shows) for shows in (True, False))
    return numbers.SHOWS_CHANCE * shown + (1 - numbers.SHOWS_CHANCE) * hidden
