"""Photographs that come from a device: upright, scaled, without what the camera added, under a name of our own."""

from __future__ import annotations

import io
import zlib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some
from PIL import Image

from netdiff.bench import photos

DAY = date(2026, 3, 2)
ORIENTATION, GPS, MAKER = 0x0112, 0x8825, 0x010F
"""Tags of the Exif standard (CIPA DC-008)."""


def picture(size: tuple[int, int] = (400, 300), fmt: str = "JPEG", mode: str = "RGB", orientation: int = 1) -> bytes:
    """Its upper left quarter is red."""
    one = Image.new(mode, size, "white")
    one.paste(Image.new(mode, (size[0] // 2, size[1] // 2), "red"), (0, 0))
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER] = orientation, "camera of somebody"
    exif.get_ifd(GPS)[1] = "N"
    out = io.BytesIO()
    extra: Any = {"exif": exif} if fmt == "JPEG" else {}
    one.save(out, fmt, **extra)
    return out.getvalue()


def red_corner(data: bytes) -> str:
    with Image.open(io.BytesIO(data)) as one:
        wide, high = one.size
        spots = {"upper left": (5, 5), "upper right": (wide - 6, 5), "lower right": (wide - 6, high - 6),
                 "lower left": (5, high - 6)}  # fmt: skip
        return next(name for name, spot in spots.items() if one.convert("RGB").getpixel(spot)[1] < 100)


@pytest.mark.parametrize(("orientation", "corner", "size"), [
    (1, "upper left", (400, 300)), (3, "lower right", (400, 300)), (6, "upper right", (300, 400)),
    (8, "lower left", (300, 400)), (2, "upper right", (400, 300)), (5, "upper left", (300, 400)),
])  # fmt: skip
def test_it_stands_upright(orientation: int, corner: str, size: tuple[int, int]) -> None:
    """What each value means: Exif 2.32, tag 274. 6: the row 0 is the right-hand side."""
    ready = photos.upright(picture(orientation=orientation))
    assert red_corner(ready) == corner
    with Image.open(io.BytesIO(ready)) as one:
        assert one.size == size and one.format == "JPEG"


def test_what_the_camera_added_is_left_behind() -> None:
    before, after = picture(), photos.upright(picture())
    assert b"camera of somebody" in before and b"camera of somebody" not in after
    with Image.open(io.BytesIO(after)) as one:
        assert not dict(one.getexif())


def test_it_is_scaled_and_not_blown_up() -> None:
    for size in ((6000, 1000), (100, 50)):
        with Image.open(io.BytesIO(photos.upright(picture(size)))) as one:
            assert max(one.size) == min(max(size), photos.LONGEST_SIDE)
            assert one.size[0] / one.size[1] == pytest.approx(size[0] / size[1], rel=0.01)


@pytest.mark.parametrize("fmt", ["PNG", "WEBP"])
def test_other_formats_become_jpeg_on_white(fmt: str) -> None:
    out = io.BytesIO()
    Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(out, fmt)
    with Image.open(io.BytesIO(photos.upright(out.getvalue()))) as one:
        assert one.format == "JPEG" and min(one.convert("RGB").getpixel((5, 5))) > 240


def bomb() -> bytes:
    """A PNG of a few kilobytes that says it has 40,000 by 40,000 pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + name + data + zlib.crc32(name + data).to_bytes(4, "big")

    side = (40_000).to_bytes(4, "big")
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", side + side + bytes([8, 0, 0, 0, 0]))
            + chunk(b"IDAT", zlib.compress(bytes(100_000))) + chunk(b"IEND", b""))  # fmt: skip


@pytest.mark.parametrize(("data", "says"), [
    (b"", "no JPEG"), (b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>", "no JPEG"),
    (b"GIF89a" + bytes(50), "no JPEG"), (b"%PDF-1.4", "no JPEG"), (picture()[:400], "damaged"),
    (bomb(), "pixels"), (bytes(photos.MOST_BYTES + 1), "MB"),
])  # fmt: skip
def test_what_is_no_picture_is_not_taken(tmp_path: Path, data: bytes, says: str) -> None:
    with pytest.raises(photos.NoPicture, match=says):
        photos.keep(tmp_path, "V5", photos.upright(data), DAY)
    assert not list(tmp_path.rglob("*.*"))


@given(some.binary(max_size=300))
def test_any_bytes_are_a_picture_or_told_to_be_none(data: bytes) -> None:
    for start in (b"", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", picture((20, 20))[:150]):
        with pytest.raises(photos.NoPicture):
            photos.upright(start + data)


def test_names_by_part_and_date(tmp_path: Path) -> None:
    names = [photos.keep(tmp_path, about, photos.upright(picture()), DAY) for about in ("V5.k", "V5.k", "?K1", "C14.+")]
    assert names == ["photos/V5-k-2026-03-02-1.jpg", "photos/V5-k-2026-03-02-2.jpg",
                     "photos/unknown-K1-2026-03-02-1.jpg", "photos/C14-plus-2026-03-02-1.jpg"]  # fmt: skip
    assert all((tmp_path / name).is_file() for name in names)


@given(some.text(max_size=80))
def test_a_name_from_outside_is_never_a_path(about: str) -> None:
    name = photos.name_for(Path("/nowhere"), about, DAY)
    folder, _, file = name.partition("/")
    assert folder == "photos" and "/" not in file and "\\" not in file and not file.startswith((".", "-"))
    assert file.isascii() and len(file) < 80


def test_a_folder_that_leads_elsewhere_is_not_used(tmp_path: Path) -> None:
    elsewhere, unit = tmp_path / "elsewhere", tmp_path / "unit"
    elsewhere.mkdir()
    unit.mkdir()
    (unit / "photos").symlink_to(elsewhere)
    with pytest.raises(photos.NoPicture, match="elsewhere"):
        photos.keep(unit, "V5", photos.upright(picture()), DAY)
    assert not list(elsewhere.iterdir())
