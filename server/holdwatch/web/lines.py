"""Short texts that people type: one line each, of characters that every database keeps."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from marshmallow import ValidationError, fields, validate

# No control characters: PostgreSQL keeps no NUL, and no name has a line break.
PATTERN = r"^[^\u0000-\u001f\u007f]*$"
NAME_PATTERN = r"^[^\u0000-\u001f\u007f]*[^\s\u0000-\u001f\u007f][^\u0000-\u001f\u007f]*$"
LENGTH = "This must be {min} to {max} characters long."
# NIST SP 800-63B, 3.1.1.2: length is what counts; no rules on the kinds of characters.
PASSWORD_SHORTEST, PASSWORD_LONGEST = 10, 200
_UNFIT = re.compile("[\x00-\x1f\x7f\ud800-\udfff]")


def line(longest: int, shortest: int = 1) -> fields.String:
    """A field for a line of text."""
    return _field(PATTERN, validate.Length(shortest, longest, error=LENGTH), _fit)


def password() -> fields.String:
    """A field for a password that somebody has."""
    return line(PASSWORD_LONGEST)


def new_password() -> fields.String:
    """A field for a password that is to be."""
    return line(PASSWORD_LONGEST, PASSWORD_SHORTEST)


def name() -> fields.String:
    """A field for the name of a person or a household: a line that is not all blank."""
    return _field(NAME_PATTERN, validate.Length(min=1, max=80), _fit, _not_blank)


def login() -> fields.String:
    """A field for a new login: an address or a name, without blanks."""
    return _field(r"^[^\s\u0000-\u001f\u007f]*$", validate.Length(min=1, max=200), _fit, _no_blank)


def _field(pattern: str, *checks: Callable[[str], Any]) -> fields.String:
    return fields.String(required=True, validate=checks, metadata={"pattern": pattern})


def _fit(text: str) -> None:
    if _UNFIT.search(text):
        raise ValidationError("This must be one line of ordinary text.")


def _not_blank(text: str) -> None:
    if not text.strip():
        raise ValidationError("This must not be blank.")


def _no_blank(text: str) -> None:
    if any(character.isspace() for character in text):
        raise ValidationError("A login has no blanks in it.")
