"""May a run start: nailing, straps and hold-downs behind it are inspected and signed off first.

Nothing is nailed on concrete: a slab, its edge and a foundation wall wait for no nailing. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from typing import Final

from hullwright.evidence import Caution, Evidence, Mark
from hullwright.proof.entries import Entry
from hullwright.proof.proves import passes
from hullwright.proof.site import Located, SiteJoint

_WORDS = {"nailing": "nailing not signed off", "straps": "straps and hold-downs failed their inspection"}


def may_start(face: str, entries: Sequence[Entry], *, nailed: bool = True) -> tuple[str, ...]:
    """Say what is in the way of starting on a face.

    Parameters
    ----------
    face : str
    entries : sequence of Entry
        Standing entries.
    nailed : bool
        Whether anything is nailed on it.

    Returns
    -------
    tuple of str
        Empty where the run may start. Nailing must have passed; straps, where they were inspected, must have passed last.

    Examples
    --------
    >>> may_start("F1", [])
    ('nailing not signed off',)
    >>> may_start("slab edge", [], nailed=False)
    ()
    """
    on_face = [entry for entry in entries if entry.spot.face == face and not entry.spot.joint]
    last = {kind: next((e for e in reversed(on_face) if e.kind == kind), None) for kind in _WORDS}
    nailing, straps = last["nailing"], last["straps"]
    out = []
    if nailed and (nailing is None or not passes(nailing.kind, nailing.what)):
        out.append(_WORDS["nailing"])
    if straps is not None and not passes(straps.kind, straps.what):
        out.append(_WORDS["straps"])
    return tuple(out)


def not_to_start(
    faces: Iterable[str], entries: Sequence[Entry], unnailed: AbstractSet[str] = frozenset()
) -> dict[str, tuple[str, ...]]:
    """Give the faces on which no run may start yet, with what is in the way.

    Parameters
    ----------
    faces : iterable of str
    entries : sequence of Entry
        Standing entries.
    unnailed : set of str
        Faces on which nothing is nailed.

    Returns
    -------
    dict of str to tuple of str
        Faces that may be started are left out.

    Examples
    --------
    >>> not_to_start(["F1"], [])
    {'F1': ('nailing not signed off',)}
    """
    found = {face: may_start(face, entries, nailed=face not in unnailed) for face in sorted(set(faces))}
    return {face: words for face, words in found.items() if words}


GASKET_FIRST: Final = Caution(
    "a gasket belongs under the plate before the plate is bolted or nailed down: look whether it lies there",
    Evidence(Mark.PRACTICE),
)
_BEFORE_NAILING: Final = frozenset({"gasket"})


def gaskets_late(located: Sequence[Located]) -> tuple[Entry, ...]:
    """Give gaskets that were logged as done after the nailing of their face was signed off.

    Parameters
    ----------
    located : sequence of Located
        In the order of the store.
    """
    signed: set[str] = set()
    out = []
    for one in located:
        entry = one.entry
        if entry.kind == "nailing" and passes(entry.kind, entry.what):
            signed |= set(one.faces)
        elif entry.kind == "done" and entry.what["method"] in _BEFORE_NAILING and entry.spot.face in signed:
            out.append(entry)
    return tuple(out)


def started_too_early(
    joints: Sequence[SiteJoint], located: Sequence[Located], unnailed: AbstractSet[str] = frozenset()
) -> tuple[Entry, ...]:
    """Give the ``done`` marks on joints of which no face was signed off when the mark came in.

    Parameters
    ----------
    joints : sequence of SiteJoint
    located : sequence of Located
        Standing entries with what they are about, in the order of the store.
    unnailed : set of str
        Faces on which nothing is nailed; a joint that has no other face waits for nothing. A gasket goes before any nail.

    Returns
    -------
    tuple of Entry
    """
    faces = {joint.id: joint.faces for joint in joints}
    signed: set[str] = set()
    out = []
    for one in located:
        entry = one.entry
        if entry.kind == "nailing" and not entry.spot.joint:
            (signed.add if passes(entry.kind, entry.what) else signed.discard)(entry.spot.face)
        elif entry.kind == "done" and entry.what["method"] not in _BEFORE_NAILING:
            of = [set(faces.get(joint, ())) for joint in one.joints] or [{entry.spot.face} - {""}]
            if any(own - unnailed and not signed & (own - unnailed) for own in of):
                out.append(entry)
    return tuple(out)
