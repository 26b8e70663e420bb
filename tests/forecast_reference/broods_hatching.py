"""Broods of the species that hatch after dark, in the JSON form of `holdwatch forecast`; all of our own invention."""

from .brood_forms import brood, look, readings
from .species import CLOWNFISH, PAJAMA

# Effective degree-days (Kamler 2002) instead of Q10 count from here, deg C; an invention that only these checks use.
DEGREE_DAY_ZERO_C = {"clownfish: by degree-days": 12.0, "pajama: by degree-days": 14.0, "banggai: by degree-days": 11.0}


def _pajama_young() -> dict:
    return brood(
        "2026-03-07T13:00:00+00:00",
        species=PAJAMA.name,
        readings=readings("2026-03-01T00:00:00+00:00", 6 * 24 + 12, 6, 26.6),
        spawn={"at": "2026-03-01T19:00:00+00:00", "error_min": 90},
        looks=[
            look("2026-03-03T18:00:00+00:00", mouth="full", eggs="orange", food="ignored"),
            look("2026-03-06T18:00:00+00:00", mouth="full", eggs="turning"),
        ],
    )


def _pajama_unseen_spawn() -> dict:
    return brood(
        "2026-09-16T15:00:00-05:00",
        species=PAJAMA.name,
        zone="America/Chicago",
        company="alone",
        tank={"set_point_c": 27.5},
        readings=readings("2026-09-02T00:00:00-05:00", 14 * 24 + 14, 8, 27.4),
        not_before="2026-09-04T00:00:00-05:00",
        looks=[
            look("2026-09-07T18:00:00-05:00", mouth="normal", food="ate"),
            look("2026-09-09T18:00:00-05:00", mouth="full"),
            look("2026-09-11T22:00:00-05:00", "red", mouth="full", loose_fry="none"),
            look("2026-09-13T18:00:00-05:00", mouth="full", eggs="orange", tails="none"),
            look("2026-09-15T18:00:00-05:00", "dim_white", mouth="full", eggs="silver"),
        ],
    )


def _pajama_tonight() -> dict:
    """Asked an hour after lamps-out of a night on which he may let go; the clocks change on the next."""
    return brood(
        "2026-10-24T22:40:00+02:00",
        species=PAJAMA.name,
        zone="Europe/Rome",
        readings=readings("2026-10-14T00:00:00+02:00", 10 * 24 + 22, 4, 27.0),
        spawn={"at": "2026-10-16T17:00:00+02:00", "error_min": 120},
        looks=[
            look("2026-10-20T18:00:00+02:00", mouth="full", eggs="orange"),
            look("2026-10-23T18:00:00+02:00", mouth="full", eggs="silver"),
            look("2026-10-24T22:10:00+02:00", "red", mouth="full", loose_fry="none"),
        ],
    )


def _pajama_gone() -> dict:
    """A normal mouth in the morning of a day on which he may have let go, or have lost them before."""
    return brood(
        "2026-06-10T12:00:00+10:00",
        species=PAJAMA.name,
        zone="Australia/Brisbane",
        experienced=False,
        spawn={"at": "2026-06-01T19:00:00+10:00", "error_min": 240},
        looks=[
            look("2026-06-04T18:00:00+10:00", mouth="full", eggs="orange"),
            look("2026-06-08T18:00:00+10:00", mouth="full"),
            look("2026-06-10T10:00:00+10:00", mouth="normal", food="ate", loose_fry="none"),
        ],
    )


def _clownfish_silver() -> dict:
    return brood(
        "2026-03-27T12:30:00+01:00",
        species=CLOWNFISH.name,
        zone="Europe/Rome",
        tank={"set_point_c": 27.0, "lamps_out": "20:00", "lamps_on": "08:00"},
        readings=readings("2026-03-20T00:00:00+01:00", 7 * 24 + 12, 3, 27.1),
        spawn={"at": "2026-03-21T11:00:00+01:00", "error_min": 60},
        looks=[
            look("2026-03-22T18:00:00+01:00", clutch="there", eggs="orange"),
            look("2026-03-25T18:00:00+01:00", clutch="there", eggs="turning"),
            look("2026-03-26T18:00:00+01:00", clutch="there", eggs="silver", loose_fry="none"),
        ],
    )


def _clownfish_after_midnight() -> dict:
    """Neither spawn nor readings for a week; the lamps go out after midnight."""
    return brood(
        "2026-01-22T19:00:00+09:00",
        species=CLOWNFISH.name,
        zone="Asia/Tokyo",
        experienced=False,
        company="alone",
        tank={"set_point_c": 26.0, "lamps_out": "00:15", "lamps_on": "11:30"},
        readings=readings("2026-01-08T00:00:00+09:00", 6 * 24, 6, 25.6),
        not_before="2026-01-12T00:00:00+09:00",
        looks=[
            look("2026-01-14T18:00:00+09:00", clutch="gone"),
            look("2026-01-16T18:00:00+09:00", clutch="there", eggs="orange", mouth="normal", food="ate"),
            look("2026-01-19T18:00:00+09:00", "dim_white", clutch="there", eggs="orange"),
            look("2026-01-21T23:00:00+09:00", "blue", clutch="there", eggs="silver"),
        ],
    )


def _clownfish_hatched() -> dict:
    return brood(
        "2026-07-09T11:00:00+01:00",
        species=CLOWNFISH.name,
        tank={"set_point_c": 28.0},
        readings=readings("2026-07-01T00:00:00+01:00", 8 * 24 + 10, 6, 28.1),
        not_before="2026-06-30T00:00:00+01:00",
        not_after="2026-07-03T12:00:00+01:00",
        courtship=[{"at": "2026-07-01T10:00:00+01:00"}],
        looks=[
            look("2026-07-03T12:00:00+01:00", clutch="there", eggs="orange"),
            look("2026-07-07T18:00:00+01:00", clutch="there", eggs="silver"),
            look("2026-07-09T00:30:00+01:00", "red", clutch="gone", loose_fry="seen"),
        ],
    )


def _clownfish_eaten() -> dict:
    return brood(
        "2026-05-06T12:00:00+01:00",
        species=CLOWNFISH.name,
        experienced=False,
        readings=readings("2026-05-01T00:00:00+01:00", 5 * 24 + 12, 12, 27.2),
        spawn={"at": "2026-05-02T10:00:00+01:00", "error_min": 30},
        looks=[
            look("2026-05-03T18:00:00+01:00", clutch="there", eggs="orange"),
            look("2026-05-05T18:00:00+01:00", clutch="gone", loose_fry="none"),
        ],
    )


def _banggai_degree_days() -> dict:
    early = readings("2026-08-01T00:00:00+02:00", 6 * 24, 6, 25.2)
    late = readings("2026-08-09T00:00:00+02:00", 11 * 24, 6, 28.4, 0.5)
    return brood(
        "2026-08-20T13:00:00+02:00",
        zone="Europe/Rome",
        readings=[*early, *late],
        spawn={"at": "2026-08-02T20:00:00+02:00", "error_min": 240},
        looks=[
            look("2026-08-06T18:00:00+02:00", mouth="full"),
            look("2026-08-14T18:00:00+02:00", mouth="full", eggs="orange"),
            look("2026-08-18T18:00:00+02:00", mouth="full", eggs="silver", tails="none"),
        ],
    )


HATCHING = {
    "pajama: spawn seen, eggs turning": _pajama_young(),
    "pajama: spawn not seen": _pajama_unseen_spawn(),
    "pajama: asked in the dark": _pajama_tonight(),
    "pajama: let go or lost": _pajama_gone(),
    "pajama: by degree-days": _pajama_young(),
    "clownfish: silver the evening before": _clownfish_silver(),
    "clownfish: lamps out after midnight": _clownfish_after_midnight(),
    "clownfish: hatched": _clownfish_hatched(),
    "clownfish: clutch eaten": _clownfish_eaten(),
    "clownfish: by degree-days": _clownfish_silver(),
    "banggai: by degree-days": _banggai_degree_days(),
}
