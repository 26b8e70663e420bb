"""A picture is drawn anew with nothing in it but its pixels, and whatever is no honest picture is refused in words."""

from __future__ import annotations

import struct
import time
import zlib
from io import BytesIO

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from PIL import Image

from holdwatch.services.photos.anatomy import CUT_SHORT, GOES_ON, MOVES, NO_PICTURE, outline
from holdwatch.services.photos.errors import PhotoRefused
from holdwatch.services.photos.picture import TOO_MANY_PIXELS, picture_of
from pictures import (
    MARK,
    claiming,
    drawn,
    endless_scans,
    photo,
    png_chunk,
    png_of,
    saved,
    telling,
    webp_claiming,
)

KINDS = ("JPEG", "PNG", "WEBP")
ZIP = b"PK\x05\x06" + b"\x00" * 18
MOVING = saved(drawn(64, 64), "WEBP", save_all=True, append_images=[drawn(64, 64).rotate(90)], duration=100)
# The known bombs of Pillow's own tests are of this kind: a header that claims what no memory holds. The others pack
# much into little: text that unpacks to gigabytes, a palette of passes without end.
HOSTILE = {
    "nothing": (b"", NO_PICTURE),
    "no picture": (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", NO_PICTURE),
    "a page": (b"<!doctype html><script>alert(1)</script>", NO_PICTURE),
    "a drawing with a script": (b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', NO_PICTURE),
    "a GIF": (saved(drawn(64, 64).quantize(), "GIF"), NO_PICTURE),
    "a TIFF": (saved(drawn(64, 64), "TIFF"), NO_PICTURE),
    "PostScript": (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n", NO_PICTURE),
    "a page before a photo": (b"<html><body>" + photo(), NO_PICTURE),
    "a photo, then a zip": (photo() + ZIP, GOES_ON),
    "a photo, then a page": (photo() + b"<script>alert(1)</script>", GOES_ON),
    "a PNG, then a zip": (saved(drawn(), "PNG") + ZIP, GOES_ON),
    "a WebP, then a zip": (saved(drawn(), "WEBP") + ZIP, GOES_ON),
    "two photos in one": (photo() + photo(), GOES_ON),
    "a moving picture": (MOVING, MOVES),
    "half a photo": (photo()[:-4000], CUT_SHORT),
    "half a PNG": (saved(drawn(), "PNG")[:-400], CUT_SHORT),
    "half a WebP": (saved(drawn(), "WEBP")[:-400], CUT_SHORT),
    "a photo without its beginning": (photo()[20:], NO_PICTURE),
    "only a beginning": (b"\xff\xd8\xff", CUT_SHORT),
    "a JPEG without a picture": (b"\xff\xd8\xff\xd9", NO_PICTURE),
    "a bomb, JPEG": (claiming(65_500, 65_500), TOO_MANY_PIXELS),
    "a bomb, PNG": (png_of(2**31 - 1, 2**31 - 1), TOO_MANY_PIXELS),
    "a bomb, PNG, just above Pillow's error": (png_of(14_000, 14_000), TOO_MANY_PIXELS),
    "a bomb, PNG, just above ours": (png_of(24_000_001, 1), TOO_MANY_PIXELS),
    "a bomb, WebP": (webp_claiming(16_383, 16_383), TOO_MANY_PIXELS),
    "a line without height": (claiming(65_500, 0), NO_PICTURE),
    "a PNG of too few pixels": (png_of(5000, 4000), CUT_SHORT),
    "text that unpacks to 200 MB": (
        png_of(8, 8, png_chunk(b"zTXt", b"Comment\x00\x00" + zlib.compress(b"\x00" * 200_000_000))),
        NO_PICTURE,
    ),
    "a profile that unpacks to 200 MB": (
        png_of(8, 8, png_chunk(b"iCCP", b"icc\x00\x00" + zlib.compress(b"\x00" * 200_000_000))),
        NO_PICTURE,
    ),
    "a chunk longer than the file": (png_of(8, 8, struct.pack(">I", 2**31 - 1) + b"tEXt"), CUT_SHORT),
    "three thousand passes": (endless_scans(3000), NO_PICTURE),
}


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data), formats=("JPEG",))


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_of_each_kind_is_kept_as_a_jpeg_with_its_thumbnail(kind):
    kept = picture_of(saved(drawn(640, 480), kind))
    full, small = opened(kept.full), opened(kept.thumbnail)
    assert (kept.width, kept.height) == full.size == (640, 480)
    assert small.size == (320, 240)
    red, green, blue = full.getpixel((20, 20))
    assert red > 180 and green < 60 and blue < 60
    assert len(kept.thumbnail) < 20_000


@pytest.mark.parametrize("kind", KINDS)
def test_where_and_by_what_it_was_taken_is_gone(kind):
    told = telling(kind)
    assert MARK in told or kind == "PNG"
    assert Image.open(BytesIO(told)).getexif().get_ifd(0x8825), "the test's own picture must tell its place"
    kept = picture_of(told)
    for data in (kept.full, kept.thumbnail):
        image = opened(data)
        assert dict(image.getexif()) == {} and set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        # Neither EXIF nor XMP (APP1), no profile (APP2), no comment (COM).
        assert not any(marker in data[: data.index(b"\xff\xda")] for marker in (b"\xff\xe1", b"\xff\xe2", b"\xff\xfe"))
        assert MARK not in data and b"GPS" not in data


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("orientation", "size", "red_at"),
    [(1, (640, 480), (20, 20)), (3, (640, 480), (620, 460)), (6, (480, 640), (460, 20)), (8, (480, 640), (20, 620))],
)
def test_a_picture_is_turned_the_way_it_was_held(kind, orientation, size, red_at):
    kept = opened(picture_of(telling(kind, orientation)).full)
    assert kept.size == size
    red, green, _ = kept.getpixel(red_at)
    assert red > 180 and green < 60


@pytest.mark.parametrize(("width", "height", "size"), [(5000, 4000, (2048, 1638)), (300, 4800, (128, 2048))])
def test_a_large_picture_is_made_small(width, height, size):
    kept = picture_of(photo(width, height))
    assert (kept.width, kept.height) == size
    assert max(opened(kept.thumbnail).size) == 320


def test_a_small_picture_is_not_made_larger():
    kept = picture_of(photo(40, 30))
    assert (kept.width, kept.height) == (40, 30) == opened(kept.thumbnail).size


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA", "CMYK"])
def test_every_way_of_keeping_colours_is_understood(mode):
    data = saved(drawn().convert(mode), "JPEG" if mode == "CMYK" else "PNG")
    assert opened(picture_of(data).full).mode == "RGB"


def test_what_shows_through_is_black_and_not_white():
    glass = drawn(64, 64).convert("RGBA")
    glass.putalpha(0)
    assert max(opened(picture_of(saved(glass, "PNG")).full).getpixel((30, 30))) < 8


def test_a_progressive_picture_as_cameras_write_them_is_taken():
    assert picture_of(saved(drawn(), quality=85, progressive=True)).width == 640


@pytest.mark.parametrize("name", HOSTILE)
def test_what_is_no_honest_picture_is_refused_in_words_and_quickly(name):
    data, words = HOSTILE[name]
    began = time.monotonic()
    with pytest.raises(PhotoRefused) as refused:
        picture_of(data)
    assert str(refused.value) == words
    # A bomb that went off would take minutes or all memory.
    assert time.monotonic() - began < 5


def test_nothing_of_what_hides_in_a_picture_is_kept():
    segment = b"\xff\xe9" + struct.pack(">H", 2 + len(MARK)) + MARK
    data = photo()
    kept = picture_of(data[:2] + segment + data[2:])
    assert MARK not in kept.full + kept.thumbnail


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_with_any_of_its_bytes_changed_is_taken_or_refused_and_nothing_else(kind):
    whole = telling(kind)

    @seed(20261125)
    @settings(max_examples=150, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(st.tuples(st.integers(0, len(whole) - 1), st.integers(0, 255)), min_size=1, max_size=12))
    def changed(changes):
        data = bytearray(whole)
        for at, value in changes:
            # Most of what a decoder trusts stands at the beginning.
            data[at % 700 if at % 2 else at] = value
        try:
            picture_of(bytes(data))
        except PhotoRefused as refused:
            assert str(refused)

    changed()


@seed(20261125)
@settings(max_examples=300, deadline=None, database=None)
@given(
    st.sampled_from([b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", b"RIFF\x20\x00\x00\x00WEBPVP8X"]),
    st.binary(max_size=60),
)
def test_any_bytes_have_an_outline_or_are_refused(head, rest):
    try:
        found = outline(head + rest)
    except PhotoRefused:
        return
    assert found.width >= 0 and found.height >= 0
