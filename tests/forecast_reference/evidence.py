"""One brood as JSON, turned into instants in days and the looks that count."""

from dataclasses import dataclass
from datetime import UTC, datetime

from . import numbers
from .species import SPECIES, Species

LIGHT_RANK = {"daylight": 0, "torch": 0, "dim_white": 1, "blue": 2, "red": 2, "none": 2}
CATCH_KINDS = ("eggs", "yolk", "free")


@dataclass(frozen=True)
class Reading:
    """One part of one look: what was seen, when, under which light, and its share of its merged look."""

    part: str
    value: str
    at: float
    light: str
    share: float
    look: int
    recalled: bool = False


@dataclass(frozen=True)
class Brood:
    """One brood's evidence up to now; every instant in days since 1970-01-01 UTC."""

    now: float
    species: Species
    tank: dict
    released_before: bool
    temperatures: tuple[tuple[float, float], ...]
    looks: tuple[tuple[Reading, ...], ...]
    spawn: tuple[float, float] | None
    courtships: tuple[float, ...]
    catch: tuple[float, frozenset[str]] | None
    earliest: float
    latest: float

    def end(self) -> float:
        """The instant to which the brood is followed: now, or the catch that ended it."""
        return self.catch[0] if self.catch else self.now


def days(text: str) -> float:
    """The instant of an ISO 8601 text with offset, in days since 1970-01-01 UTC."""
    return datetime.fromisoformat(text).timestamp() / 86400.0


def iso(instant: float) -> str:
    """The ISO 8601 text in UTC, to the millisecond, of an instant in days since 1970-01-01 UTC."""
    return datetime.fromtimestamp(instant * 86400.0, UTC).isoformat(timespec="milliseconds")


def read_brood(document: dict) -> Brood:
    """The evidence of one brood from its JSON form, without anything later than now."""
    now = days(document["now"])
    spawn, catch = document.get("spawn"), document.get("catch")
    earliest, latest = _spawn_range(document, now)
    species = SPECIES[document["species"]]
    return Brood(
        now=now,
        species=species,
        tank=document["tank"],
        released_before=document["male"]["has_released_before"],
        temperatures=tuple(r for r in _temperatures(document) if r[0] <= now),
        looks=_merged(_usable_looks(document, now), species),
        spawn=(days(spawn["at"]), spawn["error_min"] / 1440.0) if spawn else None,
        courtships=tuple(days(c["at"]) for c in document.get("courtship") or []),
        catch=(days(catch["at"]), frozenset(kind for kind in CATCH_KINDS if catch.get(kind))) if catch else None,
        earliest=earliest,
        latest=latest,
    )


def _temperatures(document: dict) -> list[tuple[float, float]]:
    return sorted((days(r["at"]), r["temperature_c"]) for r in document.get("readings", []))


def _spawn_range(document: dict, now: float) -> tuple[float, float]:
    """The earliest and the latest possible spawn; of a seen spawn, three stated errors either side."""
    if document.get("spawn"):
        at, error = days(document["spawn"]["at"]), document["spawn"]["error_min"] / 1440.0
        return at - 3 * error, at + 3 * error
    latest = days(document["not_after"]) if document.get("not_after") else now
    if document.get("not_before"):
        return days(document["not_before"]), latest
    signs = [days(look["at"]) for look in document.get("looks", []) if _sign_of_brood(look)]
    return min(signs, default=latest) - numbers.LOOK_BACK_DAYS, latest


def _sign_of_brood(look: dict) -> bool:
    colour = look.get("eggs") in ("orange", "turning", "silver") and not look.get("recalled")
    tails = look.get("tails") == "seen" and not look.get("recalled")
    return look.get("mouth") == "full" or look.get("clutch") == "there" or colour or tails


def _usable_looks(document: dict, now: float) -> list[tuple[int, dict]]:
    """The looks that say something, by time: not after now or the catch, and of a run of recalled looks the last."""
    end = min(now, days(document["catch"]["at"])) if document.get("catch") else now
    ordered = sorted(enumerate(document.get("looks", [])), key=lambda pair: (days(pair[1]["at"]), pair[0]))
    until = [pair for pair in ordered if days(pair[1]["at"]) <= end]
    return [
        (index, look)
        for place, (index, look) in enumerate(until)
        if not (
            look.get("recalled") and any(following.get("recalled") for _, following in until[place + 1 : place + 2])
        )
    ]


def _merged(looks: list[tuple[int, dict]], species: Species) -> tuple[tuple[Reading, ...], ...]:
    """Looks within 3 h of the first of them as one; a recalled look stays alone."""
    groups: list[list[tuple[int, dict]]] = []
    for pair in looks:
        if not groups or not _belongs(pair[1], groups[-1][0][1]):
            groups.append([])
        groups[-1].append(pair)
    return tuple(readings for group in groups if (readings := _readings(group, species)))


def _belongs(look: dict, first: dict) -> bool:
    recalled = look.get("recalled") or first.get("recalled")
    return not recalled and days(look["at"]) - days(first["at"]) <= numbers.ONE_LOOK_DAYS


def _readings(group: list[tuple[int, dict]], species: Species) -> tuple[Reading, ...]:
    """Of each part the readings under the best light, each with an equal share.

    Of a recalled look only the first of the species' parts counts: the mouth, or the clutch.
    """
    recalled = bool(group[0][1].get("recalled"))
    readings = []
    for part in species.parts()[:1] if recalled else species.parts():
        seen = [(index, look) for index, look in group if look.get(part) is not None]
        best = min((_rank(look) for _, look in seen), default=None)
        counted = [(index, look) for index, look in seen if _rank(look) == best]
        readings += [
            Reading(part, look[part], days(look["at"]), look.get("light", "none"), 1 / len(counted), index, recalled)
            for index, look in counted
        ]
    return tuple(readings)


def _rank(look: dict) -> int:
    return LIGHT_RANK[look.get("light", "none")]
