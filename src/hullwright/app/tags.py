"""Tags for the walls: who has drilled a hole scans the one of that face and marks it. They carry no key."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import quote

from hullwright.app.qr import svg


def tags(page: str, house: str, faces: Iterable[str]) -> list[dict[str, str]]:
    """Make a tag for each face.

    Parameters
    ----------
    page : str
        Address of the page, without a slash at its end.
    house : str
    faces : iterable of str

    Returns
    -------
    list of dict
        `face`, `address` and `svg`, its QR code.

    Examples
    --------
    >>> tags("https://site.local:8766", "north-lot", ["main/roof south"])[0]["address"]
    'https://site.local:8766/#tag=north-lot/main/roof%20south'
    """
    rows = [(face, f"{page}/#tag={house}/{quote(face)}") for face in faces]
    return [{"face": face, "address": address, "svg": svg(address)} for face, address in rows]
