"""Reads the outline of an image file before any decoder sees it: its kind, its size, and where it must end.

JPEG: ITU-T T.81, annex B. PNG: ISO/IEC 15948, 5. WebP: RFC 9649. A file that goes on after its picture is something
else as well, and a few bytes can claim any size or make a decoder pass over it without end.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from .errors import PhotoRefused

NO_PICTURE = "This is no picture that can be kept: choose a JPEG, PNG or WebP file, or take the photo again."
CUT_SHORT = "This picture is cut short. Take the photo again, or choose the whole file."
GOES_ON = "More than a picture is in this file. Take the photo again, or save the picture alone and choose that."
MOVES = "This is a moving picture. Choose one that stands still."
# From memory: what cameras and browsers write has up to about a dozen. Each scan is one pass over the whole picture, so
# thousands of empty ones would keep a decoder busy for hours.
MOST_SCANS = 100

PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
# 0xff, then what is neither a stuffed zero, a restart marker nor a fill byte (T.81, B.1.1.2 and B.1.1.5).
_AFTER_SCAN = re.compile(rb"\xff+([^\x00\xd0-\xd7\xff])")
_START, _END, _SCAN = 0xD8, 0xD9, 0xDA
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}


@dataclass(frozen=True)
class Outline:
    """A picture's format as Pillow names it, and its size in pixels as the file claims it."""

    format: str
    width: int
    height: int


def outline(data: bytes) -> Outline:
    """The outline of a JPEG, PNG or WebP file that holds one picture and nothing after it; else PhotoRefused."""
    if data.startswith(b"\xff\xd8\xff"):
        return _jpeg(data)
    if data.startswith(PNG_SIGNATURE):
        return _png(data)
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return _webp(data)
    raise PhotoRefused(NO_PICTURE)


def _jpeg(data: bytes) -> Outline:
    size, scans, at = None, 0, 2
    while True:
        marker, at = _marker(data, at)
        if marker == _END:
            break
        if marker == _START or 0xD0 <= marker <= 0xD7 or marker < 0xC0:
            raise PhotoRefused(NO_PICTURE)
        length = _number(data, at, 2)
        if length < 2:
            raise PhotoRefused(NO_PICTURE)
        if marker in _FRAMES:
            size = size or (_number(data, at + 5, 2), _number(data, at + 3, 2))
        at += length
        if marker == _SCAN:
            scans += 1
            at = _end_of_scan(data, at)
    if size is None or scans == 0 or scans > MOST_SCANS:
        raise PhotoRefused(NO_PICTURE)
    _end_here(data, at)
    return Outline("JPEG", *size)


def _marker(data: bytes, at: int) -> tuple[int, int]:
    """The marker at a place, and where what belongs to it begins."""
    while data[at : at + 2] == b"\xff\xff":
        at += 1
    if at + 2 > len(data):
        raise PhotoRefused(CUT_SHORT)
    if data[at] != 0xFF:
        raise PhotoRefused(NO_PICTURE)
    return data[at + 1], at + 2


def _end_of_scan(data: bytes, at: int) -> int:
    found = _AFTER_SCAN.search(data, at)
    if found is None:
        raise PhotoRefused(CUT_SHORT)
    return found.start(1) - 1


def _png(data: bytes) -> Outline:
    if data[12:16] != b"IHDR":
        raise PhotoRefused(NO_PICTURE)
    width, height = _number(data, 16, 4), _number(data, 20, 4)
    at, name = len(PNG_SIGNATURE), b""
    while name != b"IEND":
        length, name = _number(data, at, 4), data[at + 4 : at + 8]
        at += 12 + length
        if at > len(data):
            raise PhotoRefused(CUT_SHORT)
    _end_here(data, at)
    return Outline("PNG", width, height)


def _webp(data: bytes) -> Outline:
    length = int.from_bytes(data[4:8], "little") + 8
    if length > len(data):
        raise PhotoRefused(CUT_SHORT)
    _end_here(data, length)
    kind, body = data[12:16], data[20:30]
    if len(body) < 10:
        raise PhotoRefused(CUT_SHORT)
    return Outline("WEBP", *_webp_size(kind, body))


def _webp_size(kind: bytes, body: bytes) -> tuple[int, int]:
    """Width and height as the first chunk has them (RFC 9649, 2.5 to 2.7)."""
    if kind == b"VP8X":
        if body[0] & 0x02:
            raise PhotoRefused(MOVES)
        return int.from_bytes(body[4:7], "little") + 1, int.from_bytes(body[7:10], "little") + 1
    if kind == b"VP8L" and body[0] == 0x2F:
        bits = int.from_bytes(body[1:5], "little")
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if kind == b"VP8 " and body[3:6] == b"\x9d\x01\x2a":
        return int.from_bytes(body[6:8], "little") & 0x3FFF, int.from_bytes(body[8:10], "little") & 0x3FFF
    raise PhotoRefused(NO_PICTURE)


def _number(data: bytes, at: int, count: int) -> int:
    if at + count > len(data):
        raise PhotoRefused(CUT_SHORT)
    return int.from_bytes(data[at : at + count], "big")


def _end_here(data: bytes, at: int) -> None:
    if at < len(data):
        raise PhotoRefused(GOES_ON)
