"""How joints and runs were called before ids lost their words: the `was` of each, and the short names of then.

Logs, decisions and plans of then name joints and runs so. Nothing new is ever written in these names.
"""

from __future__ import annotations

from typing import Final

from hullwright.joints.renamed import KINDS_BEFORE

_WAS: Final = {today: before for before, today in KINDS_BEFORE.items()}
_SHORT: Final[dict[str, str]] = {
    "overdriven fastener under a seam band": "heads under band",
    "overdriven fastener": "heads",
    "panel seam, level": "level seam",
    "panel seam, upright": "upright seam",
    "outside corner": "out corner",
    "inside corner": "in corner",
    "sill to foundation": "sill plate",
    "foundation corner": "fdn corner",
    "foundation wall to floor": "fdn wall foot",
    "roof to wall, head": "roof head",
    "roof to wall, side": "roof side",
    "opening head": "head",
    "opening jamb": "jamb",
    "opening sill": "sill",
    "rough-opening corner": "RO corner",
    "three-way corner": "3-way",
    "change of material": "material edge",
    "wall to ceiling": "ceiling edge",
    "partition top plate": "top plate",
    "contact with cold garage": "cold edge",
    "party wall edge": "party edge",
    "strip behind a thing fixed later": "strip",
}
_MORE: Final = {
    ", unbacked": " unb.",
    ", services": " svc",
    ", at the edge": " edge",
    ", moving": " mov.",
    ", to ": ">",
}


def kind_was(kind: str) -> str:
    """Give the word of before for a joint kind of today."""
    return _WAS.get(kind, kind)


def short(name: str) -> str:
    """Shorten an id of before as people read it then, and wrote it into decisions.

    Parameters
    ----------
    name : str
        Id of before, of a joint or run.

    Returns
    -------
    str

    Examples
    --------
    >>> short("main/roof south:panel seam, level, unbacked")
    'main/roof south:level seam unb.'
    >>> short("main/roof south + main/south + main/west:three-way corner")
    'main/roof south+south+west:3-way'
    >>> short("main/south/2/window 1:rough-opening corner 2")
    'main/south/2/window 1:RO corner 2'
    """
    head, *rest = name.split(":")
    return ":".join([_faces(head), *map(_kind, rest)])


def _faces(head: str) -> str:
    first, *others = head.split(" + ")
    mass = first.split("/")[0] + "/"
    return "".join([first, *(f"+{other.removeprefix(mass)}" for other in others)])


def _kind(part: str) -> str:
    for long, less in _SHORT.items():
        if part == long or part.startswith((f"{long} ", f"{long}, ")):
            part = less + part.removeprefix(long)
            break
    for long, less in _MORE.items():
        part = part.replace(long, less)
    return part
