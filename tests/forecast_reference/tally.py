"""Sums over weighted draws, from which the answers of a forecast are read."""

from copy import copy

import numpy as np

from . import nights
from .evenings import local_date
from .evidence import iso
from .likelihood import Problem
from .sampling import Draws
from .truth import STATES, STEPS, states

QUANTILES = (5, 10, 25, 50, 75, 90, 95)
BIN_DAYS = 0.002
REACH_DAYS = 250.0
SMALLEST_CHANCE = 0.0005
NOON = 0.5


class Tally:
    """Running sums over chunks: a histogram for each step wanted, chances and values at now and at each night."""

    def __init__(self, problem: Problem, steps: tuple[str, ...] = STEPS) -> None:
        self.brood = problem.brood
        self.nights = [] if problem.brood.catch else nights.list_nights(problem.brood)
        self.histograms = {step: np.zeros(int(2 * REACH_DAYS / BIN_DAYS)) for step in steps}
        self.instants = np.zeros((1 + len(self.nights), len(STATES)))
        self.values = np.zeros((len(self.nights), 2))
        self.hatching = np.zeros(len(self.nights))
        self.lamps_outs = problem.clock.lamps_outs
        self.evenings = np.zeros(len(self.lamps_outs))
        self.points, self.weight, self.squares = 0, 0.0, 0.0

    def add(self, draws: Draws) -> None:
        """Add one chunk of draws."""
        self.points += len(draws.weight)
        self.weight += draws.weight.sum()
        self.squares += (draws.weight**2).sum()
        for step, histogram in self.histograms.items():
            place = (getattr(draws.course, step) - self.brood.now + REACH_DAYS) / BIN_DAYS
            bins = np.clip(place, 0, len(histogram) - 1).astype(int)
            histogram += np.bincount(bins, draws.weight, len(histogram))
        if len(self.evenings):
            evening = np.searchsorted(self.lamps_outs, draws.course.hatched, side="right") - 1
            self.evenings += np.bincount(evening, draws.weight, len(self.evenings))
        for row, at in enumerate([self.brood.end(), *(night.at for night in self.nights)]):
            here = states(draws.course, draws.loss, at)
            self.instants[row] += [draws.weight @ here[name] for name in STATES]
        for row, night in enumerate(self.nights):
            parts = nights.saved(self.brood, draws.course, draws.loss, night)
            self.values[row] += [draws.weight @ part for part in parts]
            self.hatching[row] += draws.weight @ nights.hatches(self.brood, draws.course, draws.loss, night.evening)

    def quantiles(self, step: str) -> dict[str, str]:
        """The seven quantiles of a step, linear within a bin."""
        mass = np.concatenate([[0.0], np.cumsum(self.histograms[step])]) / self.weight
        edges = self.brood.now - REACH_DAYS + BIN_DAYS * np.arange(len(mass))
        return {f"q{q:02d}": iso(float(np.interp(q / 100, mass, edges))) for q in QUANTILES}

    def chances(self, row: int) -> dict[str, float]:
        """The six chances at now (row 0) or at a night (row 1 on)."""
        return {name: float(p) for name, p in zip(STATES, self.instants[row] / self.weight, strict=True)}

    def night_rows(self) -> list[dict]:
        """The night table; where the young are let go at hatching, with the chance that they hatch in its dark."""
        worth, hatching = self.values.sum(axis=1) / self.weight, self.hatching / self.weight
        dark = self.brood.species.hatches_after_dark()
        return [
            {
                "night": night.evening.date,
                "at": iso(night.at),
                "saved": float(worth[i]),
                **self.chances(i + 1),
                **({"hatches": float(hatching[i])} if dark else {}),
            }
            for i, night in enumerate(self.nights)
        ]

    def evening_chances(self) -> dict[str, float]:
        """By the date of each evening, the chance that the eggs hatch in its dark if they are not lost."""
        named = zip(self.lamps_outs, self.evenings / self.weight, strict=True)
        chances = {local_date(self.brood.tank, at - NOON): float(chance) for at, chance in named}
        return {day.isoformat(): chance for day, chance in chances.items() if chance >= SMALLEST_CHANCE}

    def plus(self, other: "Tally") -> "Tally":
        """The sums of both; the weights of either must be on the same scale."""
        both = copy(self)
        both.histograms = {step: counts + other.histograms[step] for step, counts in self.histograms.items()}
        for sums in ("instants", "values", "hatching", "evenings", "points", "weight", "squares"):
            setattr(both, sums, getattr(self, sums) + getattr(other, sums))
        return both

    def answers(self) -> dict:
        """Quantiles of the steps, chances now, the nights and the one to choose, and how many points these rest on."""
        table = self.night_rows()
        return {
            **{step: self.quantiles(step) for step in self.histograms},
            "now": self.chances(0),
            "nights": table,
            **({"evenings": self.evening_chances()} if len(self.evenings) else {}),
            "catch": nights.choose(table, list(self.values[:, 0] / self.weight)),
            "points": self.points,
            "effective_points": self.weight**2 / self.squares,
        }
