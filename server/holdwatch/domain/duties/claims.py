"""Who has taken a duty and whether it is done, from marks that are only ever added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from .duty import LOOSE, Duty

What = Literal["taken", "handed_back", "done", "later", "skipped", "loose_fry_handled"]


@dataclass(frozen=True)
class Mark:
    """What one person said of one duty; stamps sort as the marks were made, `until` is of *later*."""

    what: What
    duty: str
    person: str
    at: datetime
    stamp: str
    until: datetime | None = None


def claimed(duty: Duty, marks: Sequence[Mark]) -> Duty:
    """The duty with who has it, when it was over, and who put it off, as far as these marks say."""
    own = sorted((mark for mark in marks if mark.duty == duty.key), key=lambda mark: mark.stamp)
    done, skipped = (min(_said(own, what), default=None) for what in ("done", "skipped"))
    # Loose fry come again, so there an earlier *done* says nothing of a later sighting; the plan has judged that.
    over = None if duty.kind in LOOSE else done or skipped
    is_skipped = done is None and (duty.skipped or (duty.done_at is None and over is not None))
    done_at = duty.done_at or over
    return replace(duty, taken_by=_holder(own), done_at=done_at, skipped=is_skipped, put_off=_put_off(own))


def _said(marks: Sequence[Mark], what: What) -> list[datetime]:
    return [mark.at for mark in marks if mark.what == what]


def _put_off(own: Sequence[Mark]) -> tuple[tuple[str, datetime], ...]:
    """Until when each put it off, as he said it last."""
    last = {mark.person: mark.until for mark in own if mark.what == "later" and mark.until}
    return tuple(sorted(last.items()))


def _holder(marks: Sequence[Mark]) -> str | None:
    """Of those who took it and did not hand it back, the one who took it first."""
    standing: dict[str, Mark] = {}
    for mark in marks:
        if mark.what == "taken":
            standing.setdefault(mark.person, mark)
        elif mark.what == "handed_back":
            standing.pop(mark.person, None)
    return min(standing.values(), key=lambda mark: mark.stamp).person if standing else None
