"""Pictures that tests upload: honest ones, and ones made to hurt."""

from __future__ import annotations

import struct
import zlib
from hashlib import sha256
from io import BytesIO
from typing import Any

from PIL import ExifTags, Image, PngImagePlugin

# In the sea off Banggai; invented for these tests.
LATITUDE, LONGITUDE = (1.0, 35.0, 41.5), (123.0, 29.0, 12.25)
MARK = b"HOLDWATCH-TEST-MARK"
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"


def drawn(width: int = 640, height: int = 480) -> Image.Image:
    """A picture whose left upper quarter is red, the rest a slope from dark to light."""
    image = Image.linear_gradient("L").resize((width, height)).convert("RGB")
    image.paste((200, 20, 10), (0, 0, width // 2, height // 2))
    return image


def saved(image: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    """The bytes of a picture as a file of that kind."""
    written = BytesIO()
    image.save(written, kind, **more)
    return written.getvalue()


def photo(width: int = 640, height: int = 480) -> bytes:
    """An honest photo, as a phone of ours uploads it."""
    return saved(drawn(width, height), quality=85)


def name_of(data: bytes) -> str:
    """Its address."""
    return sha256(data).hexdigest()


def exif(orientation: int = 1) -> Image.Exif:
    """What a camera writes besides: the way up, who made it, and where."""
    written = Image.Exif()
    written[ExifTags.Base.Orientation] = orientation
    written[ExifTags.Base.Make] = MARK.decode()
    written[ExifTags.Base.DateTime] = "2026:11:25 20:10:00"
    gps = written.get_ifd(ExifTags.IFD.GPSInfo)
    gps[ExifTags.GPS.GPSLatitudeRef], gps[ExifTags.GPS.GPSLongitudeRef] = "S", "E"
    gps[ExifTags.GPS.GPSLatitude], gps[ExifTags.GPS.GPSLongitude] = LATITUDE, LONGITUDE
    return written


def telling(kind: str, orientation: int = 1) -> bytes:
    """A picture of that kind that tells where it was taken, in every way that its format knows."""
    image, more = drawn(), {"exif": exif(orientation), "xmp": b"<x:xmpmeta>" + MARK + b"</x:xmpmeta>"}
    if kind == "JPEG":
        more["comment"] = MARK
    if kind == "PNG":
        text = PngImagePlugin.PngInfo()
        text.add_text("Comment", MARK.decode())
        text.add_itxt("XML:com.adobe.xmp", MARK.decode(), zip=True)
        more = {"exif": exif(orientation), "pnginfo": text}
    # A profile of colours may carry any text; what is in this one is never read.
    return saved(image, kind, icc_profile=b"\x00" * 128 + MARK, **more)


def png_chunk(name: bytes, data: bytes) -> bytes:
    """A chunk of a PNG with its sum."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png_of(width: int, height: int, *more: bytes, data: bytes = b"") -> bytes:
    """A PNG that claims that size, of grey pixels, with whatever else is put before them."""
    header = png_chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
    pixels = png_chunk(b"IDAT", data or zlib.compress(b"\x00" * 64))
    return PNG_SIGNATURE + header + b"".join(more) + pixels + png_chunk(b"IEND", b"")


def endless_scans(count: int) -> bytes:
    """A progressive JPEG of a few bytes a pass and as many passes as are asked for."""
    whole = saved(drawn(2000, 2000), quality=30, progressive=True)
    last = whole.rindex(b"\xff\xda")
    return whole[:-2] + whole[last:-2] * count + b"\xff\xd9"


def claiming(width: int, height: int) -> bytes:
    """A small JPEG whose header claims another size."""
    small = photo(64, 64)
    at = small.index(b"\xff\xc0") + 5
    return small[:at] + struct.pack(">HH", height, width) + small[at + 4 :]


def webp_claiming(width: int, height: int) -> bytes:
    """A WebP of a few bytes whose canvas claims a size."""
    canvas = b"\x00" * 4 + (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    body = b"WEBPVP8X" + struct.pack("<I", 10) + canvas
    return b"RIFF" + struct.pack("<I", len(body)) + body
