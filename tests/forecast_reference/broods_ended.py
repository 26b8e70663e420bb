"""Broods that ended, or whose looks contradict each other, as `holdwatch forecast` reads them; our own invention."""

from .brood_forms import brood, look, readings


def loss() -> dict:
    """He ate twice soon after a first full mouth, so the clutch is gone."""
    return brood(
        "2026-02-09T20:00:00+13:00",
        zone="Pacific/Auckland",
        experienced=False,
        readings=readings("2026-02-01T00:00:00+13:00", 8 * 24 + 18, 6, 26.8),
        spawn={"at": "2026-02-02T19:30:00+13:00", "error_min": 30},
        looks=[
            look("2026-02-03T18:00:00+13:00", mouth="full", eggs="orange", food="ignored"),
            look("2026-02-05T18:00:00+13:00", mouth="full", food="spat"),
            look("2026-02-07T18:00:00+13:00", mouth="normal", food="ate"),
            look("2026-02-08T18:30:00+13:00", mouth="smaller", food="ate"),
        ],
    )


def one_doubtful_normal() -> dict:
    """A normal mouth in blue light, and once he ate."""
    return brood(
        "2026-02-20T20:00:00+13:00",
        zone="Pacific/Auckland",
        experienced=False,
        readings=readings("2026-02-06T00:00:00+13:00", 14 * 24 + 18, 6, 26.8),
        spawn={"at": "2026-02-07T19:30:00+13:00", "error_min": 120},
        looks=[
            look("2026-02-11T18:00:00+13:00", mouth="full", food="ignored"),
            look("2026-02-19T21:30:00+13:00", "blue", mouth="normal"),
            look("2026-02-20T18:00:00+13:00", food="ate"),
        ],
    )


def no_tails_or_no_clutch() -> dict:
    """Late on, a normal mouth and no tails in blue light: perhaps lost, perhaps a male that does not show."""
    return brood(
        "2026-03-23T23:00:00+01:00",
        zone="Europe/Rome",
        experienced=False,
        readings=readings("2026-03-01T00:00:00+01:00", 22 * 24 + 22, 12, 26.2),
        spawn={"at": "2026-03-01T20:00:00+01:00", "error_min": 60},
        looks=[
            look("2026-03-08T18:00:00+01:00", mouth="full", eggs="orange", food="ignored"),
            look("2026-03-21T22:00:00+01:00", "blue", mouth="normal", tails="none"),
            look("2026-03-22T22:00:00+01:00", "blue", tails="none"),
            look("2026-03-23T22:00:00+01:00", "blue", mouth="smaller", tails="none"),
        ],
    )


def early_tails() -> dict:
    """Tails seen six and eight days after a seen spawn."""
    return brood(
        "2026-06-12T10:00:00+01:00",
        readings=readings("2026-06-01T00:00:00+01:00", 11 * 24 + 8, 6, 26.1),
        spawn={"at": "2026-06-03T20:00:00+01:00", "error_min": 90},
        looks=[
            look("2026-06-06T18:00:00+01:00", mouth="full", eggs="orange", tails="none"),
            look("2026-06-09T18:00:00+01:00", mouth="full", eggs="orange", tails="seen"),
            look("2026-06-11T18:00:00+01:00", mouth="full", tails="seen", food="ignored"),
        ],
    )


def conflict() -> dict:
    """Silver and tails six days after a seen spawn: no development explains them."""
    early = early_tails()
    early["looks"][1] = look("2026-06-09T18:00:00+01:00", mouth="full", eggs="silver", tails="seen")
    return early


def releasing() -> dict:
    """Loose fry and a smaller mouth."""
    return brood(
        "2026-12-27T07:00:00+00:00",
        company="others",
        readings=readings("2026-12-01T00:00:00+00:00", 26 * 24, 6, 26.5),
        spawn={"at": "2026-12-03T20:00:00+00:00", "error_min": 240},
        looks=[
            look("2026-12-12T18:00:00+00:00", mouth="full", eggs="orange", loose_fry="none"),
            look("2026-12-23T18:00:00+00:00", mouth="full", tails="seen", loose_fry="none"),
            look("2026-12-25T22:00:00+00:00", "red", mouth="full", tails="seen", loose_fry="none"),
            look("2026-12-26T22:30:00+00:00", "red", mouth="smaller", loose_fry="seen"),
        ],
    )


def caught() -> dict:
    """Caught with yolk-sac young."""
    return brood(
        "2026-05-27T23:40:00+01:00",
        readings=readings("2026-05-01T00:00:00+01:00", 26 * 24 + 22, 12, 26.4),
        not_before="2026-04-27T00:00:00+01:00",
        looks=[
            look("2026-05-06T18:00:00+01:00", mouth="full", eggs="orange"),
            look("2026-05-19T18:00:00+01:00", mouth="full", eggs="silver"),
            look("2026-05-25T22:00:00+01:00", "red", mouth="full", tails="seen"),
        ],
        catch={"at": "2026-05-27T22:35:00+01:00", "eggs": 0, "yolk": 31, "free": 0},
    )
