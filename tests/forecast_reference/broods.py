"""Broods of different evidence, in the JSON form that `holdwatch forecast` reads; all of our own invention."""

from . import broods_ended
from .brood_forms import brood, look, readings


def _spawn_seen() -> dict:
    start = "2026-03-02T00:00:00+00:00"
    return brood(
        "2026-03-16T12:00:00+00:00",
        readings=readings(start, 14.5 * 24, 6, 26.4),
        spawn={"at": "2026-03-03T20:00:00+00:00", "error_min": 60},
        looks=[look("2026-03-10T19:00:00+00:00", mouth="full")],
    )


def _several_looks_no_spawn() -> dict:
    return brood(
        "2026-05-14T11:00:00+01:00",
        experienced=False,
        readings=readings("2026-04-28T00:00:00+01:00", 16 * 24 + 10, 12, 25.7),
        not_before="2026-04-24T09:00:00+01:00",
        looks=[
            look("2026-05-01T18:30:00+01:00", mouth="full"),
            look("2026-05-04T18:45:00+01:00", mouth="full", eggs="orange", food="ignored"),
            look("2026-05-08T18:30:00+01:00", mouth="full", eggs="orange"),
            look("2026-05-11T22:30:00+01:00", "red", mouth="full", tails="none"),
            look("2026-05-13T18:40:00+01:00", mouth="full", eggs="turning", food="ignored"),
        ],
    )


def _tails_seen() -> dict:
    return brood(
        "2026-07-20T20:00:00-05:00",
        zone="America/Chicago",
        readings=readings("2026-06-26T00:00:00-05:00", 24 * 24 + 18, 8, 27.1),
        not_before="2026-06-20T00:00:00-05:00",
        looks=[
            look("2026-07-01T18:00:00-05:00", mouth="full", eggs="orange"),
            look("2026-07-09T18:00:00-05:00", mouth="full", eggs="orange"),
            look("2026-07-14T18:10:00-05:00", mouth="full", eggs="silver", tails="none"),
            look("2026-07-17T18:05:00-05:00", mouth="full", tails="none"),
            look("2026-07-19T21:50:00-05:00", "red", mouth="full", tails="seen", loose_fry="none"),
        ],
    )


def _tails_missed() -> dict:
    lights = [(day, "red" if day % 2 else "daylight") for day in range(7, 18)]
    evenings = [look(f"2026-10-{day:02d}T22:10:00+09:00", light, mouth="full", tails="none") for day, light in lights]
    return brood(
        "2026-10-18T09:00:00+09:00",
        zone="Asia/Tokyo",
        experienced=True,
        readings=readings("2026-09-22T00:00:00+09:00", 26 * 24, 12, 26.2),
        spawn={"at": "2026-09-23T20:00:00+09:00", "error_min": 720},
        looks=[look("2026-09-30T18:00:00+09:00", mouth="full", eggs="orange"), *evenings],
    )


def _no_readings() -> dict:
    return brood(
        "2026-01-25T12:00:00+00:00",
        tank={"set_point_c": 25.0, "lamps_out": "00:15", "lamps_on": "12:30"},
        looks=[
            look("2026-01-10T18:00:00+00:00", mouth="full"),
            look("2026-01-17T18:00:00+00:00", mouth="full", eggs="orange"),
            look("2026-01-22T18:00:00+00:00", "dim_white", mouth="full", eggs="turning"),
        ],
        not_before="2026-01-02T00:00:00+00:00",
    )


def _gaps() -> dict:
    early = readings("2026-08-01T00:00:00+02:00", 5 * 24, 6, 27.4)
    late = readings("2026-08-17T06:00:00+02:00", 2 * 24, 8, 27.6, 0.1)
    return brood(
        "2026-08-21T13:00:00+02:00",
        zone="Europe/Rome",
        readings=[*late, *early],
        not_before="2026-07-31T00:00:00+02:00",
        looks=[
            look("2026-08-04T18:00:00+02:00", mouth="full"),
            look("2026-08-12T18:00:00+02:00", mouth="full", eggs="orange"),
            look("2026-08-16T18:00:00+02:00", mouth="full", eggs="silver"),
            look("2026-08-20T18:00:00+02:00", mouth="full", tails="perhaps"),
        ],
    )


def _heat_wave() -> dict:
    cool = readings("2026-07-01T00:00:00+02:00", 8 * 24 - 1, 1, 26.0)
    hot = readings("2026-07-09T00:00:00+02:00", 9 * 24 + 11, 1, 30.2, 0.6)
    return brood(
        "2026-07-18T12:00:00+02:00",
        zone="Europe/Rome",
        readings=cool + hot,
        spawn={"at": "2026-07-01T20:30:00+02:00", "error_min": 180},
        looks=[
            look("2026-07-05T18:00:00+02:00", mouth="full", eggs="orange"),
            look("2026-07-12T18:00:00+02:00", "dim_white", mouth="full", eggs="silver", tails="none"),
            look("2026-07-15T22:00:00+02:00", "blue", mouth="full", tails="seen"),
        ],
    )


def _courtship() -> dict:
    return brood(
        "2026-04-20T12:00:00+01:00",
        readings=readings("2026-04-04T00:00:00+01:00", 16 * 24 + 10, 6, 26.6),
        not_before="2026-04-03T00:00:00+01:00",
        not_after="2026-04-16T18:00:00+01:00",
        courtship=[{"at": "2026-04-08T15:00:00+01:00"}],
        looks=[
            look("2026-04-12T18:00:00+01:00", "dim_white", mouth="full"),
            look("2026-04-19T18:00:00+01:00", mouth="full", eggs="turning", food="ignored"),
        ],
    )


def _recalled() -> dict:
    return brood(
        "2026-09-24T19:00:00+01:00",
        company="alone",
        readings=readings("2026-09-01T00:00:00+01:00", 23 * 24 + 17, 12, 26.3),
        not_before="2026-08-29T00:00:00+01:00",
        looks=[
            look("2026-09-05T18:00:00+01:00", mouth="full"),
            {"at": "2026-09-11T18:00:00+01:00", "light": "daylight", "mouth": "full", "recalled": True},
            look("2026-09-16T18:00:00+01:00", mouth="full", eggs="orange"),
            {"at": "2026-09-20T18:00:00+01:00", "light": "daylight", "mouth": "smaller", "recalled": True},
            look("2026-09-23T18:00:00+01:00", mouth="smaller", tails="none"),
        ],
    )


def _red_colours() -> dict:
    return brood(
        "2026-11-20T22:00:00+00:00",
        company="alone",
        readings=readings("2026-11-01T00:00:00+00:00", 19 * 24 + 20, 6, 26.9),
        not_before="2026-10-28T00:00:00+00:00",
        looks=[
            look("2026-11-05T21:40:00+00:00", "red", mouth="full", eggs="orange"),
            look("2026-11-12T21:40:00+00:00", "red", mouth="full", eggs="silver"),
            look("2026-11-17T21:40:00+00:00", "blue", mouth="full", eggs="silver", tails="none"),
            look("2026-11-18T21:30:00+00:00", "red", mouth="full", tails="none"),
            look("2026-11-18T22:00:00+00:00", "red", mouth="full", tails="seen"),
            look("2026-11-18T22:20:00+00:00", "red", tails="none"),
        ],
    )


def _fall_back() -> dict:
    """Neither spawn nor bounds, so the spawn may be up to 30 d before the first full; the readings begin late."""
    return brood(
        "2026-06-18T09:00:00+10:00",
        zone="Australia/Brisbane",
        experienced=False,
        readings=readings("2026-06-10T00:00:00+10:00", 8 * 24 + 8, 4, 26.9),
        looks=[
            look("2026-06-08T18:00:00+10:00", mouth="normal", food="spat"),
            look("2026-06-10T18:00:00+10:00", mouth="full"),
            look("2026-06-13T18:00:00+10:00", mouth="full", food="ignored"),
            look("2026-06-17T18:00:00+10:00", mouth="full", eggs="orange"),
        ],
    )


BROODS = {
    "spawn seen and little else": _spawn_seen(),
    "no spawn seen, several looks": _several_looks_no_spawn(),
    "tails seen": _tails_seen(),
    "tails missed for eleven evenings": _tails_missed(),
    "normal and ate twice": broods_ended.loss(),
    "one doubtful normal": broods_ended.one_doubtful_normal(),
    "no tails, or no clutch": broods_ended.no_tails_or_no_clutch(),
    "tails seen far too early": broods_ended.early_tails(),
    "silver and tails far too early": broods_ended.conflict(),
    "no readings": _no_readings(),
    "gaps in the readings": _gaps(),
    "hourly readings with a heat wave": _heat_wave(),
    "courtship": _courtship(),
    "recalled looks, alone": _recalled(),
    "colours in red light, three looks an evening": _red_colours(),
    "loose fry": broods_ended.releasing(),
    "caught with yolk-sac young": broods_ended.caught(),
    "nothing bounds the spawn": _fall_back(),
}
