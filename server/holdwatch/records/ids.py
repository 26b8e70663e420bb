"""Ids of records: UUIDs of version 7, which sort by the time of their making (RFC 9562, section 5.7)."""

from __future__ import annotations

from uuid import UUID

RANDOM_BITS = 74


def record_id(milliseconds: int, random_bits: int) -> str:
    """The id for an instant in milliseconds since 1970 UTC and 74 random bits."""
    rand_a, rand_b = random_bits >> 62 & 0xFFF, random_bits & (1 << 62) - 1
    return str(UUID(int=milliseconds << 80 | 0x7 << 76 | rand_a << 64 | 0b10 << 62 | rand_b))
