"""Pictures are refused by what their head states, before anything decodes them."""

from __future__ import annotations

import asyncio
import io
import struct

import pytest
from PIL import Image

from mobile.photos import MOST_PIXELS, dimensions, shrink
from store.errors import Refused


def made(form: str, size: tuple[int, int], **how: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (200, 10, 10)).save(out, form, **how)
    return out.getvalue()


@pytest.mark.parametrize(
    ("form", "how"),
    [
        ("JPEG", {}),
        ("JPEG", {"progressive": True, "exif": b"Exif\0\0" + b"x" * 5000}),
        ("PNG", {}),
        ("GIF", {}),
        ("WEBP", {}),
        ("WEBP", {"lossless": True}),
        ("WEBP", {"exif": b"Exif\0\0abcd"}),
    ],
)
def test_the_size_read_from_the_head_is_the_size_made(form: str, how: dict[str, object]) -> None:
    """Against Pillow, which made the picture."""
    assert dimensions(made(form, (321, 123), **how)) == (321, 123)


def test_the_largest_size_in_a_heif_counts() -> None:
    """Tiles and the whole each state a size (ISO/IEC 23008-12, 6.5.3)."""
    ispe = lambda w, h: struct.pack(">I4sIII", 20, b"ispe", 0, w, h)  # noqa: E731
    data = struct.pack(">I4s4s", 16, b"ftyp", b"heic") + b"mif1" + ispe(512, 512) + ispe(4032, 3024)
    assert dimensions(data) == (4032, 3024)


def bomb() -> bytes:
    """A PNG of 40,000 by 40,000 pixels in a few hundred bytes, as far as its head says."""
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sIIBBBBB", 13, b"IHDR", 40_000, 40_000, 8, 2, 0, 0, 0) + b"\0" * 40


def large_jpeg() -> bytes:
    small = made("JPEG", (64, 64))
    at = small.index(b"\xff\xc0")
    return small[: at + 5] + struct.pack(">HH", 30_000, 30_000) + small[at + 9 :]


@pytest.mark.parametrize("data", [bomb(), large_jpeg()])
def test_hundreds_of_megapixels_are_refused_unseen(data: bytes) -> None:
    width, height = dimensions(data) or (0, 0)
    assert width * height > MOST_PIXELS
    with pytest.raises(Refused) as refused:
        asyncio.run(shrink(data))
    assert refused.value.code == "size"


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"x",
        b"\xff\xd8\xff",
        b"\xff\xd8\xff\xda" + b"\0" * 40,
        b"\x89PNG" + b"\0" * 40,
        b"RIFF" + b"\0" * 40,
        b"\xff\xd8" + b"\xff" * 100,
    ],
)
def test_what_states_no_size_is_no_picture(data: bytes) -> None:
    assert dimensions(data) is None
    with pytest.raises(Refused) as refused:
        asyncio.run(shrink(data))
    assert refused.value.code == "media"


def test_a_picture_of_a_phone_passes() -> None:
    data = made("JPEG", (4032, 3024))
    assert asyncio.run(shrink(data)) == (data, "image/jpeg")
