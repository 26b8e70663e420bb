"""How fast the forecast is: `python tests/bench/bench_forecast.py`, prints times, memory and ratios, asserts nothing.

Times are of the processor, the least of several runs, with the time of a fixed piece of arithmetic beside them so
that machines can be compared. The general-purpose sampler is emcee (Foreman-Mackey et al. 2013) on the very same
posterior: the same prior, clock, looks and sums over loss, at the points it asks for.
"""

import argparse
import json
import os
import random
import resource
import sys
import time as clocks
import tomllib
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

# One core: the linear algebra behind numpy would otherwise start a thread a core.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
SERVER = Path(__file__).parents[2] / "server"
sys.path.insert(0, str(SERVER))

import emcee  # noqa: E402
import numpy as np  # noqa: E402
from sqlalchemy import Engine, select  # noqa: E402

from holdwatch.config import load_profiles, load_settings  # noqa: E402
from holdwatch.domain.clock import days_between  # noqa: E402
from holdwatch.domain.forecast import (  # noqa: E402
    Evidence,
    Reading,
    Spawn,
    Tank,
    believe,
    forecast,
    refining,  # noqa: E402
)
from holdwatch.domain.forecast.glass import look_ahead  # noqa: E402
from holdwatch.domain.forecast.looking import Outlook  # noqa: E402
from holdwatch.domain.forecast.loss import fate, risk, survival  # noqa: E402
from holdwatch.domain.forecast.nights import night_worths  # noqa: E402
from holdwatch.domain.forecast.prior import LATENTS  # noqa: E402
from holdwatch.domain.forecast.sight import sights  # noqa: E402
from holdwatch.domain.forecast.steps import course, steps  # noqa: E402
from holdwatch.domain.learning import learned, lesson  # noqa: E402
from holdwatch.domain.looks import Look  # noqa: E402
from holdwatch.domain.species import Profile, parse_profile  # noqa: E402
from holdwatch.example import load_example  # noqa: E402
from holdwatch.services.forecasts import issue_asked  # noqa: E402
from holdwatch.services.recomputing import ask_for_broods  # noqa: E402
from holdwatch.store import tables  # noqa: E402
from holdwatch.store.database import open_database, reading, writing  # noqa: E402

# Many walkers a step, so that emcee has as large arrays to work on as we have.
WALKERS = 1024
NOW = datetime(2026, 3, 20, 20, 0, tzinfo=UTC)
PROFILE = SERVER / "holdwatch" / "profiles" / "pterapogon_kauderni.toml"


def many_looks(spawn: Spawn | None) -> Evidence:
    """Return a brood with 60 looks and 25 days of hourly temperature."""
    looks = tuple(_look(index) for index in range(60))
    readings = tuple(Reading(NOW - timedelta(hours=h), 26 + 0.5 * ((h // 12) % 2)) for h in range(600))
    tank = Tank("Europe/Berlin", 26.5, time(22), time(8), "others")
    return Evidence(NOW, tank, True, readings=readings, looks=looks, spawn=spawn)


def _look(index: int) -> Look:
    at = NOW - timedelta(hours=10 * index + 1)
    if index % 3 == 2:
        colour = "silver" if index < 20 else "orange"
        return Look(f"{index}", at, "daylight", mouth="full", eggs=colour, tails="none", food="ignored")
    return Look(f"{index}", at, "red", mouth="full", tails="seen" if index < 4 else "none")


def some_brood(seed: int) -> Evidence:
    """Return an ordinary brood: a look or two most evenings under red light, a reading a day."""
    dice = random.Random(seed)
    held = dice.uniform(4, 26)
    looks = []
    for evening in range(int(held)):
        if dice.random() < 0.8:
            tails = "seen" if evening < held - 20 and dice.random() < 0.5 else "none"
            looks.append(Look(f"{evening}", NOW - timedelta(days=evening, hours=1), "red", mouth="full", tails=tails))
    readings = tuple(Reading(NOW - timedelta(days=d), dice.gauss(26.3, 0.4)) for d in range(int(held)))
    tank = Tank("Europe/Berlin", 26.5, time(22), time(8), "others")
    return Evidence(NOW, tank, dice.random() < 0.7, readings=readings, looks=tuple(looks))


def milliseconds(work: Callable[[], object], runs: int) -> float:
    """Return the least processor time of several runs."""
    least = float("inf")
    for _ in range(runs):
        start = clocks.process_time()
        work()
        least = min(least, clocks.process_time() - start)
    return 1000 * least


def resident_mib() -> float:
    """Return the memory now resident."""
    with open("/proc/self/statm", encoding="ascii") as pages:
        return int(pages.read().split()[1]) * resource.getpagesize() / 2**20


def one_pass(evidence: Evidence, profile: Profile) -> object:
    """Return the first pass alone: 8,192 points of the prior, weighed."""
    ahead = course(evidence, profile)
    seen = sights(evidence, profile, ahead)
    stepped = steps(refining.prior_scores(refining.POINTS, LATENTS, refining.FIRST_SEED), evidence, profile, ahead)
    chance = risk(profile.loss, evidence.has_released_before)
    surviving = survival(chance, stepped, days_between(ahead.origin, evidence.end()))
    return fate(seen, stepped, profile, surviving)


def emcee_seconds_an_effective_draw(evidence: Evidence, profile: Profile, draws: int) -> tuple[float, float]:
    """Return the processor time of emcee for one effective draw, with burn-in, and its autocorrelation time."""
    ahead = course(evidence, profile)
    seen = sights(evidence, profile, ahead)
    chance = risk(profile.loss, evidence.has_released_before)
    middle = days_between(ahead.origin, evidence.end())

    def log_posterior(scores: np.ndarray) -> np.ndarray:
        stepped = steps(scores, evidence, profile, ahead)
        likelihood = fate(seen, stepped, profile, survival(chance, stepped, middle)).log_likelihood()
        return likelihood - 0.5 * np.sum(scores**2, axis=1)

    belief = believe(evidence, profile)
    rng = np.random.default_rng(20260320)
    start = rng.normal(0, 0.3, (WALKERS, LATENTS))
    sampler = emcee.EnsembleSampler(WALKERS, LATENTS, log_posterior, vectorize=True)
    sampler.random_state = np.random.RandomState(20260320).get_state()
    began = clocks.process_time()
    sampler.run_mcmc(start, draws // WALKERS, progress=False)
    took = clocks.process_time() - began
    slowest = float(np.max(sampler.get_autocorr_time(tol=0)))
    hatch = steps(sampler.get_chain(discard=draws // WALKERS // 4, flat=True), evidence, profile, ahead).hatch
    print(f"  median hatch: emcee {np.median(hatch):.3f} d, ours {_median(belief.hatch, belief.weights):.3f} d")
    return took / (draws / slowest), slowest


def _median(values: np.ndarray, weights: np.ndarray) -> float:
    order = np.argsort(values)
    return float(np.interp(0.5, np.cumsum(weights[order]), values[order]))


def report_one(name: str, evidence: Evidence, profile: Profile, runs: int) -> None:
    """Print the times of one brood."""
    told = forecast(evidence, profile)
    print(f"{name}: {told.points} points, {told.effective_points:.0f} effective, rough: {told.rough}")
    print(f"  one pass           {milliseconds(lambda: one_pass(evidence, profile), runs):7.1f} ms   (target 40)")
    print(f"  with refinement    {milliseconds(lambda: believe(evidence, profile), runs):7.1f} ms   (target 120)")
    print(f"  the whole forecast {milliseconds(lambda: forecast(evidence, profile), runs):7.1f} ms")


def report_depth(evidence: Evidence, profile: Profile, runs: int) -> None:
    """Print the times of what goes beyond one forecast: what looks are worth, and what broods have taught."""
    belief = believe(evidence, profile)
    worths = tuple(night_worths(belief, evidence, profile))
    catch = forecast(evidence, profile).catch
    looks = milliseconds(lambda: look_ahead(Outlook(belief, evidence, profile, worths), catch), runs)
    print(f"  next look and if_seen {looks:4.1f} ms   (target 150)")
    one = lesson("0", "0", belief, evidence, profile)
    fifty = [replace(one, brood=f"{n}", male=f"{n % 7}") for n in range(50)]
    learning = milliseconds(lambda: learned(fifty, "3", True, profile), runs)
    print(f"  learning from 50 broods {learning:4.1f} ms   (target 20)")


def report_reforecast(runs: int) -> None:
    """Print the time from one new look in the database to its new forecast, duties and all."""
    with TemporaryDirectory() as folder:
        settings, now = load_settings({"HOLDWATCH_DATABASE": f"sqlite:///{folder}/bench.sqlite3"}), datetime.now(UTC)
        load_example(settings, now)
        engine = open_database(settings.database_url)
        profiles, brood = load_profiles(), _under_way(engine)
        times = []
        for run in range(runs):
            with writing(engine) as db:
                ask_for_broods(db, [brood], now + timedelta(seconds=run))
            began = clocks.process_time()
            issue_asked(engine, profiles, now + timedelta(seconds=run))
            times.append(1000 * (clocks.process_time() - began))
    print(f"a brood of the example forecast anew, all told on the server: {min(times):.0f} ms   (target 300)")


def _under_way(engine: Engine) -> tuple[str, str]:
    with reading(engine) as db:
        rows = db.execute(select(tables.derived).where(tables.derived.c.kind == "forecast")).all()
    return next((row.household_id, row.about) for row in rows if json.loads(row.body)["catch"])


def report_many(count: int, profile: Profile) -> None:
    """Print the time of `count` ordinary broods, as for 1,000, and the memory before and after."""
    broods = [some_brood(seed) for seed in range(count)]
    forecast(broods[0], profile)
    before, began = resident_mib(), clocks.process_time()
    for brood in broods:
        forecast(brood, profile)
    seconds = (clocks.process_time() - began) * 1000 / count
    print(f"1,000 ordinary broods (from {count}): {seconds:.0f} s on one core   (target 90)")
    print(f"  memory resident: {before:.0f} MiB after the first, {resident_mib():.0f} MiB after the last")


def report_emcee(evidence: Evidence, profile: Profile, draws: int) -> None:
    """Print how many times faster an effective point of ours is than an effective draw of emcee."""
    ours = milliseconds(lambda: believe(evidence, profile), 7) / 1000 / believe(evidence, profile).effective_points
    theirs, slowest = emcee_seconds_an_effective_draw(evidence, profile, draws)
    print(f"  emcee: autocorrelation {slowest:.0f} steps, {1e6 * theirs:.0f} us an effective draw")
    print(f"  ours: {1e6 * ours:.1f} us an effective point, {theirs / ours:.0f} times faster   (target 50)")


def main() -> None:
    """Print every figure."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--runs", type=int, default=15, help="runs of which the least time counts")
    asked.add_argument("--broods", type=int, default=50, help="ordinary broods, extrapolated to 1,000")
    asked.add_argument("--draws", type=int, default=1_024_000, help="draws of emcee")
    chosen = asked.parse_args()
    profile = parse_profile(tomllib.loads(PROFILE.read_text(encoding="utf-8")))
    numbers = np.random.default_rng(1).normal(size=8192)
    measure = 1000 * milliseconds(lambda: np.exp(numbers), 200)
    print(f"a fixed piece of arithmetic, exp of 8,192 numbers: {measure:.0f} us")
    seen = many_looks(Spawn(NOW - timedelta(days=25.5), 600))
    report_one("60 looks, spawn seen", seen, profile, chosen.runs)
    report_emcee(seen, profile, chosen.draws)
    report_one("60 looks, spawn unseen", many_looks(None), profile, chosen.runs)
    report_depth(many_looks(None), profile, chosen.runs)
    report_reforecast(chosen.runs)
    report_many(chosen.broods, profile)


if __name__ == "__main__":
    main()
