"""Turn a photo upright, take its location data out, encode it anew."""

from __future__ import annotations

import io
import warnings
from typing import Final

from PIL import Image, ImageOps

from hullwright.errors import InputError, Problem
from hullwright.store.photos import MOST_BYTES, Cleaned

MOST_PIXELS: Final = 60_000_000
LONG_SIDE: Final = 2560  # px kept: enough to read a comb
QUALITY: Final = 85
_FORMATS: Final = ("JPEG", "PNG", "WEBP")


def clean(data: bytes) -> Cleaned:
    r"""Clean a photo.

    Parameters
    ----------
    data : bytes
        As the device took it.

    Returns
    -------
    Cleaned
        An upright JPEG without any metadata, long side at most 2560 px.

    Raises
    ------
    InputError
        Not a photo, too many bytes or pixels.

    Examples
    --------
    >>> out = io.BytesIO()
    >>> Image.new("RGB", (40, 30)).save(out, "PNG")
    >>> kept = clean(out.getvalue())
    >>> kept.width, kept.height, kept.data[:2]
    (40, 30, b'\xff\xd8')
    """
    if not 0 < len(data) <= MOST_BYTES:
        raise _refused("too many bytes", f"{len(data)}", f"send at most {MOST_BYTES} bytes")
    upright = _upright(data)
    upright.thumbnail((LONG_SIDE, LONG_SIDE))
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)  # pixels only: nothing of the file's metadata comes along
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY)
    return Cleaned(out.getvalue(), bare.width, bare.height)


def _upright(data: bytes) -> Image.Image:
    """Decode and turn by the orientation the device wrote, before that note is dropped."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # its own warning on large pictures; the cap is ours
            with Image.open(io.BytesIO(data), formats=_FORMATS) as picture:
                size = (picture.width, picture.height)
                if size[0] * size[1] <= MOST_PIXELS:
                    return ImageOps.exif_transpose(picture).convert("RGB")
    except Exception as error:  # a decoder fed with junk may raise anything
        hint = "send a JPEG, PNG or WebP"
        raise _refused("this is not a photo that can be read", str(error)[:80], hint) from error
    raise _refused("too many pixels", f"{size[0]} x {size[1]}", f"send at most {MOST_PIXELS} pixels")


def _refused(message: str, got: str, hint: str) -> InputError:
    return InputError("the photo can't be kept", [Problem(message, got=got, hint=hint)])
