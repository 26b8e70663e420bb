"""What finished broods have taught, as it comes down with a forecast: to say it in words, and see when it changed."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import asdict
from statistics import mean
from typing import Any

from ...domain.learning import Lesson
from ...domain.species import Profile
from ...records.merge import canonical

MARK_DIGITS = 12


def told_lessons(lessons: Sequence[Lesson], male: str, profile: Profile) -> dict[str, Any]:
    """What the books say, when his own broods and the household's hatched, in reference days, and marks of the lessons.

    A brood that was lost teaches nothing of its hatch that could be told in a sentence.
    """
    hatched = [one for one in lessons if not one.lost]
    his = [one for one in hatched if one.male == male]
    return {
        "books": {"hatch_days": profile.development.hatch_days, "reference_c": profile.development.reference_c},
        "taught": {
            "own_hatch_days": mean(one.hatch_days for one in his) if his else None,
            "hatch_days": mean(one.hatch_days for one in hatched) if hatched else None,
            "broods": {one.brood: _mark(one) for one in lessons},
        },
    }


def changed_lesson(previous: dict[str, Any], lessons: Sequence[Lesson]) -> str | None:
    """The id of a brood that taught something else, or nothing, when the forecast before was made."""
    before = (previous.get("taught") or {}).get("broods") or {}
    now = {one.brood: _mark(one) for one in lessons}
    changed = sorted(brood for brood in before.keys() | now.keys() if before.get(brood) != now.get(brood))
    return changed[-1] if changed else None


def _mark(one: Lesson) -> str:
    return hashlib.sha256(canonical(asdict(one)).encode()).hexdigest()[:MARK_DIGITS]
