"""Short texts that people type: one line each, of characters that every database keeps."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from marshmallow import ValidationError, fields, validate

from ..records.names import NAME_LENGTH, fault_of_name, is_one_line

# As `records.names` has it, for whoever reads the description.
PATTERN = r"^[^\u0000-\u001f\u007f]*$"
NAME_PATTERN = r"^[^\u0000-\u001f\u007f]*[^\s\u0000-\u001f\u007f][^\u0000-\u001f\u007f]*$"
LENGTH = "This must be {min} to {max} characters long."
# NIST SP 800-63B, 3.1.1.2: length is what counts; no rules on the kinds of characters.
PASSWORD_SHORTEST, PASSWORD_LONGEST = 10, 200


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
    """A field for the name of a person, a household or a thermometer: a line that is not all blank."""
    return _field(NAME_PATTERN, _is_name, minLength=1, maxLength=NAME_LENGTH)


def login() -> fields.String:
    """A field for a new login: an address or a name, without blanks."""
    return _field(r"^[^\s\u0000-\u001f\u007f]*$", validate.Length(min=1, max=200), _fit, _no_blank)


def _field(pattern: str, *checks: Callable[[str], Any], **more: int) -> fields.String:
    return fields.String(required=True, validate=checks, metadata={"pattern": pattern, **more})


def _fit(text: str) -> None:
    if not is_one_line(text):
        raise ValidationError("This must be one line of ordinary text.")


def _is_name(text: str) -> None:
    if fault := fault_of_name(text):
        raise ValidationError(f"This {fault}.")


def _no_blank(text: str) -> None:
    if any(character.isspace() for character in text):
        raise ValidationError("A login has no blanks in it.")
