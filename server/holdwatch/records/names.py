"""What a name may be that a person or a device gives: of a household, a person, a thermometer."""

from __future__ import annotations

import re

NAME_LENGTH = 80
# No control characters: PostgreSQL keeps no NUL, and no name has a line break. No half of a surrogate pair either.
UNFIT = re.compile("[\x00-\x1f\x7f\ud800-\udfff]")


def is_one_line(text: str) -> bool:
    """Whether it is one line, of characters that every database keeps."""
    return UNFIT.search(text) is None


def fault_of_name(text: str) -> str | None:
    """What is wrong with it as a name, without subject and full stop; None where nothing is."""
    if not 1 <= len(text) <= NAME_LENGTH:
        return f"must be 1 to {NAME_LENGTH} characters long"
    if not is_one_line(text):
        return "must be one line of ordinary text"
    return None if text.strip() else "must not be blank"
