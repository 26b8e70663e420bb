"""Draws an uploaded picture anew: upright, small enough, and with nothing in it but what can be seen.

What was uploaded is never handed on. Its decoder may be attacked by it, so the outline is checked first, only three
formats are opened, one picture at a time, and whatever the decoder trips over is a reason to refuse.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from io import BytesIO

from PIL import ExifTags, Image

from .anatomy import CUT_SHORT, NO_PICTURE, Outline, outline
from .errors import PhotoRefused

LONGEST_PX, THUMBNAIL_PX = 2048, 320
# Six times what a phone of ours sends; decoded with transparency they are about 100 MB.
MOST_PIXELS = 24_000_000
TOO_MANY_PIXELS = f"This picture has more than {MOST_PIXELS // 1_000_000} million pixels. Make it smaller first."
QUALITY, THUMBNAIL_QUALITY = 85, 78
TYPE = "image/jpeg"

_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_one_at_a_time = threading.Lock()


@dataclass(frozen=True)
class Picture:
    """A photo as it is kept: two JPEG files, and the size of the larger one in pixels."""

    full: bytes
    thumbnail: bytes
    width: int
    height: int


def picture_of(data: bytes) -> Picture:
    """Draw the picture in an uploaded file anew; PhotoRefused where it is none that may be kept."""
    claimed = outline(data)
    if not 0 < claimed.width * claimed.height <= MOST_PIXELS:
        raise PhotoRefused(TOO_MANY_PIXELS if claimed.width and claimed.height else NO_PICTURE)
    with _one_at_a_time:
        full = _decoded(data, claimed)
        small = full.copy()
        small.thumbnail((THUMBNAIL_PX, THUMBNAIL_PX))
        return Picture(_jpeg(full, QUALITY), _jpeg(small, THUMBNAIL_QUALITY), full.width, full.height)


def _decoded(data: bytes, claimed: Outline) -> Image.Image:
    try:
        with Image.open(BytesIO(data), formats=(claimed.format,)) as image:
            if image.size != (claimed.width, claimed.height):
                raise PhotoRefused(NO_PICTURE)
            # JPEG alone can be decoded at a fraction of its size.
            image.draft("RGB", (LONGEST_PX, LONGEST_PX))
            image.load()
            turn = _TURNS.get(image.getexif().get(ExifTags.Base.Orientation, 1))
            return _redrawn(image, turn)
    except PhotoRefused:
        raise
    except Exception as problem:
        # A decoder that is fed a hostile file raises what nobody foresaw; the fault is the file's.
        truncated = isinstance(problem, OSError) and "truncated" in str(problem)
        raise PhotoRefused(CUT_SHORT if truncated else NO_PICTURE) from problem


def _redrawn(image: Image.Image, turn: Image.Transpose | None) -> Image.Image:
    """The pixels alone, on a fresh sheet: an image carries comments along, and Pillow saves some of them."""
    shown = image.convert("RGBA" if image.has_transparency_data else "RGB")
    shown.thumbnail((LONGEST_PX, LONGEST_PX))
    if turn is not None:
        shown = shown.transpose(turn)
    sheet = Image.new("RGB", shown.size)
    sheet.paste(shown, mask=shown.getchannel("A") if shown.mode == "RGBA" else None)
    return sheet


def _jpeg(image: Image.Image, quality: int) -> bytes:
    written = BytesIO()
    image.save(written, "JPEG", quality=quality)
    return written.getvalue()
