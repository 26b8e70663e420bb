"""Make values_look.json anew: `python -m forecast_reference.make_look`, from the folder of the tests."""

import time
from pathlib import Path

from .brood_forms import brood, look, readings
from .look_value import advised, gain, if_seen, up_to
from .model import forecast
from .species import CLOWNFISH
from .writing import write

SEED = 20270501
EFFECTIVE_POINTS = {"gain": 200_000, "if_seen": 100_000}
VALUES = Path(__file__).with_name("values_look.json")


def _candidates(*evenings: str, feeding: str, dark: str | None) -> list[dict]:
    """The feeding and lamps-out + 30 min of each date, the latter where the dark may be broken by red light."""
    times = [(feeding, "daylight")] + ([(dark, "red")] if dark else [])
    return [{"at": f"{day}T{clock}", "light": light} for day in evenings for clock, light in times]


def _before_the_hatch() -> dict:
    return brood(
        "2026-04-21T12:00:00+01:00",
        readings=readings("2026-04-01T00:00:00+01:00", 20 * 24 + 12, 8, 26.4),
        spawn={"at": "2026-04-02T20:00:00+01:00", "error_min": 240},
        looks=[
            look("2026-04-10T18:00:00+01:00", mouth="full", eggs="orange"),
            look("2026-04-17T18:00:00+01:00", mouth="full", eggs="silver"),
            look("2026-04-20T18:00:00+01:00", mouth="full", tails="none"),
        ],
    )


def _perhaps_tails() -> dict:
    return brood(
        "2026-07-20T09:30:00-05:00",
        zone="America/Chicago",
        readings=readings("2026-06-28T00:00:00-05:00", 22 * 24 + 9, 8, 26.3),
        not_before="2026-06-28T00:00:00-05:00",
        not_after="2026-07-06T18:00:00-05:00",
        looks=[
            look("2026-07-06T18:00:00-05:00", mouth="full", eggs="orange"),
            look("2026-07-14T18:00:00-05:00", mouth="full", eggs="orange", food="ignored"),
            look("2026-07-18T18:00:00-05:00", "dim_white", mouth="full", eggs="silver"),
            look("2026-07-19T22:00:00-05:00", "red", mouth="full", tails="perhaps", loose_fry="none"),
        ],
    )


def _nest() -> dict:
    return brood(
        "2026-05-07T12:00:00+01:00",
        species=CLOWNFISH.name,
        readings=readings("2026-05-01T00:00:00+01:00", 6 * 24 + 12, 6, 27.0),
        not_before="2026-05-01T06:00:00+01:00",
        not_after="2026-05-03T18:00:00+01:00",
        looks=[
            look("2026-05-03T18:00:00+01:00", clutch="there", eggs="orange"),
            look("2026-05-06T18:00:00+01:00", clutch="there", eggs="turning"),
        ],
    )


BROODS = {
    "silver, no tails yet": _before_the_hatch(),
    "tails perhaps, spawn not seen": _perhaps_tails(),
    "clownfish: which evening": _nest(),
}
CANDIDATES = {
    "silver, no tails yet": _candidates(
        "2026-04-21", "2026-04-22", "2026-04-23", feeding="18:00:00+01:00", dark="22:00:00+01:00"
    ),
    "tails perhaps, spawn not seen": _candidates(
        "2026-07-20", "2026-07-21", "2026-07-22", feeding="18:00:00-05:00", dark="22:00:00-05:00"
    ),
    "clownfish: which evening": _candidates(
        "2026-05-07", "2026-05-08", "2026-05-09", feeding="18:00:00+01:00", dark=None
    ),
}


def make(name: str, points: dict[str, int] = EFFECTIVE_POINTS, looks: int | None = None) -> dict:
    """Gains and verdicts of one brood's looks to come, or of the first of them, with its own stated seeds."""
    document, seed = BROODS[name], SEED + 1000 * list(BROODS).index(name)
    candidates = CANDIDATES[name][:looks]
    night = forecast(document, seed, points["if_seen"])["catch"]
    before = up_to(night, candidates)
    gains = [gain(document, each, seed + 20 * (k + 1), points["gain"]) for k, each in enumerate(before)]
    verdicts = [
        if_seen(document, each, seed + 500 + 20 * k, points["if_seen"]) for k, each in enumerate(candidates)
    ]
    return {"seed": seed, "night": night, "gains": gains, "advised": advised(gains), "if_seen": verdicts}


def _make_all() -> dict[str, dict]:
    results = {}
    for name in BROODS:
        begun = time.process_time()
        results[name] = make(name)
        print(f"{name}: {time.process_time() - begun:.0f} s")
    return results


if __name__ == "__main__":
    write(VALUES, _make_all())
