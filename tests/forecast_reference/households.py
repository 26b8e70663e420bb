"""Households with finished broods and a next one, of our own invention, in the neutral form

    {"household": [{"male_id": "a", "brood": BROOD}, ...], "next": {"male_id": "a", "brood": BROOD}}

where BROOD is what `holdwatch forecast` reads. All broods of one household are of one species.
"""

from .brood_forms import brood, days_after, look, readings
from .species import CLOWNFISH


def _tank_log(start: str, days: float, celsius: float) -> dict:
    now = days_after(start, days)
    return {"now": now, "readings": readings(start, days * 24, 12, celsius)}


def released(start: str, hatch: float, mouth: float, celsius: float = 26.5, experienced: bool = True) -> dict:
    """A brood watched to its end, hatched and released so many days after a spawn seen on the first evening."""
    out = hatch + mouth
    log = _tank_log(start, out + 3, celsius)
    return brood(
        log.pop("now"),
        experienced=experienced,
        **log,
        spawn={"at": start, "error_min": 120},
        looks=[
            look(days_after(start, 3), mouth="full", eggs="orange", food="ignored"),
            look(days_after(start, 9), mouth="full", eggs="orange"),
            look(days_after(start, 0.84 * hatch), mouth="full", eggs="silver"),
            look(days_after(start, hatch - 0.4), mouth="full", tails="none"),
            look(days_after(start, hatch + 0.6), mouth="full", tails="seen"),
            look(days_after(start, out - 0.5), mouth="full", tails="seen", loose_fry="none"),
            look(days_after(start, out + 0.4), mouth="smaller", loose_fry="seen"),
            look(days_after(start, out + 1.9), mouth="normal", food="ate", loose_fry="seen"),
        ],
    )


def caught(start: str, day: float, celsius: float = 26.5, **found: int) -> dict:
    """A brood whose male was caught so many days after the spawn, with what was found; tails seen unless eggs were."""
    tails = "none" if found.get("eggs") else "seen"
    log = _tank_log(start, day + 0.1, celsius)
    return brood(
        log.pop("now"),
        **log,
        spawn={"at": start, "error_min": 120},
        looks=[
            look(days_after(start, 5), mouth="full", eggs="orange"),
            look(days_after(start, day - 6), mouth="full", eggs="silver"),
            look(days_after(start, day - 2), mouth="full", tails=tails, loose_fry="none"),
        ],
        catch={"at": days_after(start, day), "eggs": 0, "yolk": 0, "free": 0, **found},
    )


def eaten(start: str, day: float, experienced: bool) -> dict:
    """A brood gone so many days after the spawn."""
    log = _tank_log(start, day + 3, 26.3)
    return brood(
        log.pop("now"),
        experienced=experienced,
        **log,
        spawn={"at": start, "error_min": 90},
        looks=[
            look(days_after(start, 0.9), mouth="full", eggs="orange"),
            look(days_after(start, day), mouth="normal", food="ate"),
            look(days_after(start, day + 1), mouth="normal", food="ate"),
        ],
    )


def unseen_spawn(start: str, hatch: float, mouth: float, celsius: float = 26.0) -> dict:
    """A brood as `released`, but its spawn only bounded, and its tails never seen."""
    document = released(start, hatch, mouth, celsius)
    del document["spawn"]
    document["not_before"], document["not_after"] = days_after(start, -3), days_after(start, 2)
    document["looks"] = [{part: value for part, value in seen.items() if part != "tails"} for seen in document["looks"]]
    return document


def nest(start: str, evening: int) -> dict:
    """A clownfish nest whose larvae were found on an evening so many days after a spawn seen before noon."""
    log = _tank_log(start, evening + 1.5, 27.5)
    return brood(
        log.pop("now"),
        species=CLOWNFISH.name,
        **log,
        spawn={"at": start, "error_min": 60},
        looks=[
            look(days_after(start, 1.3), clutch="there", eggs="orange"),
            look(days_after(start, evening - 0.7), clutch="there", eggs="silver", loose_fry="none"),
            look(days_after(start, evening + 0.3), clutch="there", eggs="silver", loose_fry="none"),
            look(days_after(start, evening + 0.7), "red", clutch="gone", loose_fry="seen"),
        ],
    )


def _next(start: str, day: float, *looks: dict, seen: bool = True, experienced: bool = True, **more) -> dict:
    log = _tank_log(start, day, more.pop("celsius", 26.5))
    bounds = {"not_before": days_after(start, -2), "not_after": days_after(start, 3)}
    spawn = {"spawn": {"at": start, "error_min": 120}} if seen else bounds
    return brood(log.pop("now"), experienced=experienced, **log, **spawn, looks=list(looks), **more)


def _household(next_male: str, upcoming: dict, **broods: list[dict]) -> dict:
    finished = [{"male_id": male, "brood": each} for male, his in broods.items() for each in his]
    return {"household": finished, "next": {"male_id": next_male, "brood": upcoming}}


def _after_a_catch() -> dict:
    start = "2026-06-01T20:00:00+00:00"
    looks = [look(days_after(start, 6), mouth="full", eggs="orange"), look(days_after(start, 14), mouth="full")]
    return _household("a", _next(start, 15, *looks), a=[caught("2026-04-20T20:00:00+00:00", 26, yolk=31)])


def _another_male() -> dict:
    """The same household, asked about a male without finished broods."""
    first = _after_a_catch()
    return {"household": first["household"], "next": {**first["next"], "male_id": "b"}}


def _long_holders() -> dict:
    start = "2026-09-03T20:00:00+00:00"
    looks = [
        look(days_after(start, 8), mouth="full", eggs="orange"),
        look(days_after(start, 17), mouth="full", eggs="silver"),
        look(days_after(start, 20.1), "red", mouth="full", tails="none"),
    ]
    starts = ("2026-03-01T20:00:00+00:00", "2026-05-02T20:00:00+00:00", "2026-07-04T20:00:00+00:00")
    days = ((19.2, 10.2), (18.5, 9.6), (19.8, 11.0))
    return _household("a", _next(start, 20.5, *looks), a=[released(s, *d) for s, d in zip(starts, days, strict=True)])


def _two_males() -> dict:
    start = "2026-10-05T20:00:00+00:00"
    looks = [
        look(days_after(start, 2.9), mouth="full"),
        look(days_after(start, 10), mouth="full", eggs="orange"),
        look(days_after(start, 18), "dim_white", mouth="full", eggs="turning"),
    ]
    his = [released("2026-02-10T20:00:00+00:00", 17.4, 3.0), released("2026-04-12T20:00:00+00:00", 17.9, 3.4)]
    hers = [unseen_spawn("2026-05-20T20:00:00+00:00", 20.8, 4.2), caught("2026-07-20T20:00:00+00:00", 23, eggs=35)]
    return _household("b", _next(start, 18.4, *looks, seen=False, celsius=26.0), a=his, b=hers)


def _early_hatches() -> dict:
    start = "2026-11-01T20:00:00+00:00"
    looks = [look(days_after(start, 7), mouth="full", eggs="orange"), look(days_after(start, 12), mouth="full")]
    starts = [f"2026-{month:02d}-03T20:00:00+00:00" for month in (2, 4, 6, 8)]
    days = ((16.8, 3.6), (16.5, 4.1), (17.2, 3.3), (16.9, 3.9))
    return _household("a", _next(start, 13, *looks), a=[released(s, *d) for s, d in zip(starts, days, strict=True)])


def _twice_eaten() -> dict:
    start = "2026-08-02T20:00:00+00:00"
    his = [eaten("2026-03-02T20:00:00+00:00", 2.9, False), eaten("2026-04-10T20:00:00+00:00", 1.9, False)]
    hers = [released("2026-05-05T20:00:00+00:00", 19.0, 3.5)]
    upcoming = _next(start, 1.5, look(days_after(start, 0.9), mouth="full", eggs="orange"), experienced=False)
    return _household("a", upcoming, a=his, b=hers)


def _early_nests() -> dict:
    start = "2026-07-20T10:00:00+00:00"
    looks = [look(days_after(start, 1.3), clutch="there", eggs="orange"), look(days_after(start, 3.3), clutch="there")]
    nests = [nest(f"2026-{month:02d}-05T10:00:00+00:00", evening) for month, evening in ((3, 5), (4, 5), (5, 4))]
    upcoming = _next(start, 3.5, *looks, species=CLOWNFISH.name, celsius=27.5)
    return _household("a", upcoming, a=nests)


HOUSEHOLDS = {
    "caught before release": _after_a_catch(),
    "caught before release, another male": _another_male(),
    "three held ten days": _long_holders(),
    "two males": _two_males(),
    "four hatched early": _early_hatches(),
    "eaten twice": _twice_eaten(),
    "clownfish: three nests hatched early": _early_nests(),
}
