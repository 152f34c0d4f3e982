"""Photographs of a unit as they stand in the page: upright, scaled, without what the camera wrote beside them."""

from __future__ import annotations

import base64
import io
import warnings
from pathlib import Path
from typing import Any, Final, NamedTuple

from netdiff.language.paths import inside

LONGEST: Final = 1200
"""Pixels of the longer side in the page."""
MOST_BYTES: Final = 60_000_000
MOST_PIXELS: Final = 150_000_000
"""What is larger than any camera's picture is not opened."""
FORMATS: Final = ("JPEG", "PNG", "WEBP", "GIF", "TIFF", "BMP")


class Embedded(NamedTuple):
    """A picture as a ``data:`` URI with its size in pixels; or, with ``trouble`` said, nothing to show."""

    uri: str = ""
    width: int = 0
    height: int = 0
    trouble: str = ""


def embed(folder: Path, name: str) -> Embedded:
    """The photo of that name in the folder of the found file. Whatever is wrong with it is said, not raised."""
    path = inside(folder, name)
    if isinstance(path, str):
        return Embedded(trouble=path)
    try:
        if not path.exists():
            return Embedded(trouble="the file is not there")
        if not path.is_file():
            return Embedded(trouble="this is no file")
        if path.stat().st_size > MOST_BYTES:
            return Embedded(trouble=f"the file is larger than {MOST_BYTES // 1_000_000} MB")
        return _read(path.read_bytes())
    except OSError as error:
        return Embedded(trouble=error.strerror or "the file cannot be read")


def _read(data: bytes) -> Embedded:
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=FORMATS) as opened:
                if opened.width * opened.height > MOST_PIXELS:
                    return Embedded(trouble=f"{opened.width} by {opened.height} pixels are more than can be shown")
                opened.draft("RGB", (LONGEST, LONGEST))
                picture: Any = ImageOps.exif_transpose(opened)
                picture.thumbnail((LONGEST, LONGEST))
                return _written(picture)
    except Image.DecompressionBombError:
        return Embedded(trouble="the picture has more pixels than can be shown")
    except UnidentifiedImageError:
        return Embedded(trouble="the file holds no picture that can be read (JPEG, PNG, WebP, GIF, TIFF, BMP)")
    except Exception:
        # A decoder meets a broken file with whatever exception it happens to run into.
        return Embedded(trouble="the picture is broken")


def _written(picture: Any) -> Embedded:
    """Drawn onto an empty sheet, so that nothing but the pixels is carried over; the smaller of two encodings."""
    from PIL import Image

    if "transparency" in picture.info or picture.mode in ("RGBA", "LA", "PA"):
        picture = picture.convert("RGBA")
        sheet = Image.new("RGB", picture.size, "white")
        sheet.paste(picture, mask=picture.getchannel("A"))
    else:
        sheet = Image.new("RGB", picture.size)
        sheet.paste(picture.convert("RGB"))
    best, kind = b"", ""
    for form, options in (("JPEG", {"quality": 80, "optimize": True}), ("PNG", {"optimize": True})):
        if form == "PNG" and sheet.getcolors(4096) is None:
            continue  # a photograph: PNG would be many times larger
        out = io.BytesIO()
        sheet.save(out, form, **options)
        if not best or out.tell() < len(best):
            best, kind = out.getvalue(), form.lower()
    uri = f"data:image/{kind};base64,{base64.b64encode(best).decode('ascii')}"
    return Embedded(uri, sheet.width, sheet.height)
