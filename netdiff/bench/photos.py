"""Photographs from a device: looked at, turned upright, scaled, named by part and date, stored beside the found file.

What comes in is never stored as it came: the picture is read and written anew, so that neither a name, nor what a
camera adds (where the picture was taken), nor anything hidden in the file goes on.
"""

from __future__ import annotations

import io
import os
import re
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from netdiff import writing

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES: Final = 25_000_000
"""Of one picture: twice what a telephone of 50 megapixels makes."""

MOST_PIXELS: Final = 60_000_000
"""Before scaling: memory for 180 MB, no more."""

LONGEST_SIDE: Final = 2400
"""Pixels after scaling: the print on a half-watt resistor stays readable when the part fills a tenth of the picture."""

QUALITY: Final = 88
"""JPEG."""

FORMATS: Final = ("JPEG", "PNG", "WEBP")
FOLDER: Final = "photos"


class NoPicture(ValueError):
    """Why it is not taken, in a sentence."""


def upright(data: bytes, longest: int = LONGEST_SIDE) -> bytes:
    """The picture as a JPEG, upright and at most so many pixels long; raises NoPicture."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    if len(data) > MOST_BYTES:
        raise NoPicture(f"the picture has {len(data) / 1e6:.0f} MB; {MOST_BYTES // 10**6} MB at most are taken")
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as picture:
            wide, high = picture.size
            if wide * high > MOST_PIXELS:
                raise NoPicture(f"the picture has {wide} by {high} pixels; {MOST_PIXELS // 10**6} million are taken")
            picture.draft("RGB", (longest, longest))
            turned = ImageOps.exif_transpose(picture)
            turned.thumbnail((longest, longest))
            out = io.BytesIO()
            _on_white(turned).save(out, "JPEG", quality=QUALITY)
    except UnidentifiedImageError:
        raise NoPicture("this is no JPEG, PNG or WebP picture") from None
    except Image.DecompressionBombError:
        raise NoPicture(f"the picture has too many pixels; {MOST_PIXELS // 10**6} million are taken") from None
    except (OSError, SyntaxError, ValueError) as error:
        if isinstance(error, NoPicture):
            raise
        raise NoPicture("the picture is damaged") from None
    return out.getvalue()


def _on_white(picture: Image) -> Image:
    from PIL import Image as Images

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        white = Images.new("RGBA", picture.size, "white")
        return Images.alpha_composite(white, picture.convert("RGBA")).convert("RGB")
    return picture.convert("RGB")


def name_for(folder: Path, about: str, day: date) -> str:
    """A free name under ``folder``: ``photos/V5-k-2026-03-02-1.jpg``. Only the letters of the point come in."""
    stem = re.sub(r"[^A-Za-z0-9]+", "-", about.replace("?", "unknown-").replace("+", "plus")).strip("-")[:40] or "unit"
    for number in range(1, 10_000):
        name = f"{FOLDER}/{stem}-{day.isoformat()}-{number}.jpg"
        if not (folder / name).exists():
            return name
    raise OSError("ten thousand pictures of one part in one day")


def keep(folder: Path, about: str, ready: bytes, day: date | None = None) -> str:
    """Puts an `upright` picture under ``folder``; its path relative to it. Raises NoPicture, or OSError with nothing
    half written."""
    place = folder / FOLDER
    place.mkdir(exist_ok=True)
    if Path(os.path.realpath(place)).parent != Path(os.path.realpath(folder)):
        raise NoPicture(f"the folder {FOLDER} leads elsewhere; pictures are stored beside the found file only")
    name = name_for(folder, about, day or date.today())
    writing.write(folder / name, ready)
    return name
