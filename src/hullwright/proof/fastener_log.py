"""What do the overdriven fasteners that were counted ask for: strength by face, and heads to seal for the hull."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.material.fasteners import Overdriven, overdriven
from hullwright.proof.entries import Entry
from hullwright.proof.workday import same_name


@dataclass(frozen=True, slots=True)
class FaceFasteners:
    """Overdriven fasteners of one face.

    Parameters
    ----------
    face : str
    perimeter, shallow, deep : int
        Perimeter fasteners looked at; over 1/16 up to 1/8 in; over 1/8 in.
    sealed : int
        Heads sealed so far.
    strength : Overdriven
        The structural flag: an engineer's matter.
    """

    face: str
    perimeter: int
    shallow: int
    deep: int
    sealed: int
    strength: Overdriven

    @property
    def to_seal(self) -> int:
        """Heads still to be sealed: any head that broke the face is a hole in the layer, whatever its depth."""
        return max(0, self.shallow + self.deep - self.sealed)

    def to_json(self) -> dict[str, Any]:
        """Give counts, the structural flag and what is still to be sealed."""
        return {
            "face": self.face,
            "perimeter": self.perimeter,
            "over_1_16": self.shallow,
            "over_1_8": self.deep,
            "add": self.strength.add,
            "engineer": self.strength.engineer,
            "why": self.strength.why,
            "to_seal": self.to_seal,
            "cautions": [caution.to_json() for caution in self.strength.cautions],
        }


ACCEPTED: Final = "accepted by the engineer"
"""Type of the paper that answers an open question of strength."""


def open_question(face: str, entries: Sequence[Entry]) -> str:
    """Say what strength still asks for on a face; '' where it asks for nothing.

    Parameters
    ----------
    face : str
    entries : sequence of Entry
        Standing entries, in the order of the store.

    Returns
    -------
    str
        Fasteners that were added answer it, unless an engineer is to be asked first; so does a paper *accepted by the
        engineer* for the face that knew of all that was counted.

    Examples
    --------
    >>> open_question("F1", [])
    ''
    """
    found = next((one for one in count_overdriven(entries) if one.face == face), None)
    if found is None or not (found.strength.add or found.strength.engineer):
        return ""
    own = [entry for entry in entries if entry.spot.face == face]
    last = max(k for k, entry in enumerate(own) if entry.kind == "overdriven")
    papers = (entry for entry in own[last + 1 :] if entry.kind == "paper")
    if any(same_name(entry.what["type"]) == ACCEPTED for entry in papers):
        return ""
    added = sum(entry.what["count"] for entry in own if entry.kind == "fasteners added")
    if found.strength.engineer:
        return f"ask the engineer: {found.strength.why}"
    short = found.strength.add - added
    return f"add {short} fasteners, or log the paper `{ACCEPTED}`: {found.strength.why}" if short > 0 else ""


def count_overdriven(entries: Sequence[Entry]) -> tuple[FaceFasteners, ...]:
    """Sum the counts by face and hold them against the structural rule.

    Parameters
    ----------
    entries : sequence of Entry
        Standing entries; those of kind ``overdriven`` count.

    Returns
    -------
    tuple of FaceFasteners
        Sorted by face.

    Examples
    --------
    >>> count_overdriven([])
    ()
    """
    sums: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for entry in entries:
        if entry.kind == "overdriven":
            keys = ("perimeter", "over_1_16", "over_1_8", "sealed")
            for index, key in enumerate(keys):
                sums[entry.spot.face][index] += entry.what.get(key, 0)
    return tuple(
        FaceFasteners(face, p, shallow, deep, sealed, overdriven(p, shallow, deep))
        for face, (p, shallow, deep, sealed) in sorted(sums.items())
    )
