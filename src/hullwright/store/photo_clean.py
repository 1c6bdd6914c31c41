"""Turn a photo upright, take its location data out, encode it anew. Needs the imaging library (Pillow)."""

from __future__ import annotations

import importlib
import io
import warnings
from typing import Any, Final

from hullwright.errors import InputError, Problem
from hullwright.store.photos import MOST_BYTES, Cleaned

MOST_PIXELS: Final = 60_000_000
LONG_SIDE: Final = 2560  # px kept: enough to read a comb
QUALITY: Final = 85
_FORMATS: Final = ("JPEG", "PNG", "WEBP")


def clean(data: bytes) -> Cleaned:
    """Clean a photo.

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
        No imaging library, not a photo, too many bytes or pixels.
    """
    try:
        image_module: Any = importlib.import_module("PIL.Image")
        ops: Any = importlib.import_module("PIL.ImageOps")
    except ImportError as error:
        raise _refused("the imaging library is not installed", "", "install Pillow") from error
    if not 0 < len(data) <= MOST_BYTES:
        raise _refused("too many bytes", f"{len(data)}", f"send at most {MOST_BYTES} bytes")
    upright = _upright(image_module, ops, data)
    upright.thumbnail((LONG_SIDE, LONG_SIDE))
    bare = image_module.new("RGB", upright.size)
    bare.paste(upright)  # pixels only: nothing of the file's metadata comes along
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY)
    return Cleaned(out.getvalue(), int(bare.width), int(bare.height))


def _upright(image_module: Any, ops: Any, data: bytes) -> Any:
    """Decode and turn by the orientation the device wrote, before that note is dropped."""
    too_large = ""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # its own warning on large pictures; the cap is ours
            with image_module.open(io.BytesIO(data), formats=_FORMATS) as picture:
                if picture.width * picture.height <= MOST_PIXELS:
                    return ops.exif_transpose(picture).convert("RGB")
                too_large = f"{picture.width} x {picture.height}"
    except Exception as error:  # a decoder fed with junk may raise anything
        hint = "send a JPEG, PNG or WebP"
        raise _refused("this is not a photo that can be read", str(error)[:80], hint) from error
    raise _refused("too many pixels", too_large, f"send at most {MOST_PIXELS} pixels")


def _refused(message: str, got: str, hint: str) -> InputError:
    return InputError("the photo can't be kept", [Problem(message, got=got, hint=hint)])
