"""Passwords are kept as argon2id hashes, never more than two being worked out at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from unicodedata import normalize

from argon2 import PasswordHasher
from argon2.exceptions import VerifyMismatchError

# OWASP password storage cheat sheet, argon2id: 19 MiB, two passes, one lane.
_HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)

# Two at once, always in the same two threads: each thread keeps the 19 MiB that it once took, and a flood of sign-ins
# leaves the others their processor time.
_WORKERS = ThreadPoolExecutor(2, thread_name_prefix="argon2")

# Of a random password that nobody knows. Checked where a login is unknown, so that it takes as long.
NOBODYS_HASH = "$argon2id$v=19$m=19456,t=2,p=1$2Lin600BpTlJet2NBbI6ew$EiHFUfQa9eXa7WRd+Gt3QZ4QclfpcRihWKd5huMVezk"


def hash_password(password: str) -> str:
    """The argon2id hash with its parameters and salt, in PHC form."""
    return _WORKERS.submit(_HASHER.hash, _normal(password)).result()


def password_fits(password: str, password_hash: str) -> bool:
    """Whether this password was kept as that hash."""
    try:
        return _WORKERS.submit(_HASHER.verify, password_hash, _normal(password)).result()
    except VerifyMismatchError:
        return False


def of_the_set_strength(password_hash: str) -> bool:
    """Whether a hash has the parameters of today, so that checking it takes as long as any other."""
    return not _HASHER.check_needs_rehash(password_hash)


def _normal(password: str) -> str:
    # NIST SP 800-63B, 3.1.1.2: one keyboard composes é, the next sends e and an accent.
    return normalize("NFKC", password)
