"""Addresses of e-mail: the one way to check that a text is one that we can write to."""

from __future__ import annotations

import re

# RFC 5321, 4.5.3.1: a local part has 64 octets, and a path 256 with its angle brackets.
LONGEST_LOCAL = 64
LONGEST_MAIL = 254
# A dot-atom (RFC 5322, 3.2.3) at a name of letters, digits and hyphens (RFC 5321, 4.1.2). Quoted local parts and
# addresses in brackets are left out: people do not have them, and every odd sign is one that a header could trip over.
_ATOM = r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+"
_LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_MAIL = re.compile(rf"{_ATOM}(?:\.{_ATOM})*@{_LABEL}(?:\.{_LABEL})+")


class BadMail(ValueError):
    """A text that is no address of e-mail."""


def check_mail(text: str) -> None:
    """BadMail unless `text` is an address such as ilka@reedmarsh.example."""
    if len(text) > LONGEST_MAIL or not _MAIL.fullmatch(text) or len(text.partition("@")[0]) > LONGEST_LOCAL:
        raise BadMail("an e-mail address is like ilka@reedmarsh.example, in plain letters")
