"""Who has taken a duty and whether it is done, from marks that are only ever added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from .duty import Duty

What = Literal["taken", "handed_back", "done", "loose_fry_handled"]


@dataclass(frozen=True)
class Mark:
    """What one person said of one duty; stamps sort as the marks were made."""

    what: What
    duty: str
    person: str
    at: datetime
    stamp: str


def claimed(duty: Duty, marks: Sequence[Mark]) -> Duty:
    """The duty with who has it and when it was done, as far as these marks say."""
    own = sorted((mark for mark in marks if mark.duty == duty.key), key=lambda mark: mark.stamp)
    done = [mark.at for mark in own if mark.what == "done"]
    # Loose fry come again, so there an earlier *done* says nothing of a later sighting; the plan has judged that.
    done_at = duty.done_at or (None if duty.kind == "fry_loose" else min(done, default=None))
    return replace(duty, taken_by=_holder(own), done_at=done_at)


def _holder(marks: Sequence[Mark]) -> str | None:
    """Of those who took it and did not hand it back, the one who took it first."""
    standing: dict[str, Mark] = {}
    for mark in marks:
        if mark.what == "taken":
            standing.setdefault(mark.person, mark)
        elif mark.what == "handed_back":
            standing.pop(mark.person, None)
    return min(standing.values(), key=lambda mark: mark.stamp).person if standing else None
