"""What proves each method: the table from which states follow. Nobody types a state.

The steps are common practice without a source; probing of sealant follows ASTM C1521 in kind, not in number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import InputError, Problem
from hullwright.evidence import Evidence, Mark

FILM: Final = "film"  # stands for: every film lot that this joint belongs to is proved

_PRACTICE = Evidence(Mark.PRACTICE)
_PROBED = Evidence(Mark.PRACTICE, "probing in kind as in ASTM C1521")


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a proof.

    Parameters
    ----------
    kind : str
        Kind of entry, or :data:`FILM`.
    words : str
        What has to be done, for people.
    per_lot : bool
        Whether one for the lot is enough (the first strip of the day).
    """

    kind: str
    words: str
    per_lot: bool = False


@dataclass(frozen=True, slots=True)
class MethodProof:
    """What a method needs.

    Parameters
    ----------
    before : tuple of str
        Kinds of entry that make the joint *prepared*.
    steps : tuple of Step
        All must be there for *proved*.
    evidence : Evidence
    """

    before: tuple[str, ...]
    steps: tuple[Step, ...]
    evidence: Evidence


_FILM = Step(FILM, "film lot proved")
_SEEN = Step("seen", "seen and found sound")
_PROBE = Step("probe", "edges and laps probed, none failing")
_ROLLED = Step("rolled", "rolled, and seen by somebody")
_TUG = Step("tug", "tug test of the first strip of the lot held", per_lot=True)
_TAPE = MethodProof(("prepared", "surface"), (_ROLLED, _PROBE, _TUG), _PRACTICE)
_SIGHT = MethodProof(("prepared",), (_SEEN,), _PRACTICE)

PROVES: Final[Mapping[str, MethodProof]] = {
    "tape": _TAPE,
    "stretch": _TAPE,
    "liquid": MethodProof(("prepared", "surface"), (_FILM,), _PRACTICE),
    "coat": MethodProof(("prepared", "surface"), (_FILM,), _PRACTICE),
    "sealant": MethodProof(("prepared",), (_SEEN, _PROBE), _PROBED),
    "gasket": _SIGHT,
    "boot": _SIGHT,
    "listed": _SIGHT,
    "flue_collar": _SIGHT,
    "weatherstrip": _SIGHT,
    "cover": _SIGHT,
    "cut_tails": _SIGHT,
    "unsealed": _SIGHT,  # left so by the plan: stays bare, and a release must name it
}
ANY: Final = Step("smoke", "smoke at the fan test: no leak seen")  # proves every method
AFTER_REPAIR: Final = ("seen", "probe", "smoke")  # one of these, made knowing of the repair

_GOOD: Final = {
    "tug": "held", "pull": "held", "peel": "held", "seen": "sound", "surface": "dry", "nailing": "passed", "straps": "passed",
}  # fmt: skip


def proof_of(method: str) -> MethodProof:
    """Give what proves a method.

    Parameters
    ----------
    method : str
        Its key in the catalogue.

    Returns
    -------
    MethodProof

    Raises
    ------
    InputError
        Where the table has no such method.

    Examples
    --------
    >>> [step.words for step in proof_of("boot").steps]
    ['seen and found sound']
    """
    if method not in PROVES:
        problem = Problem("no proof is known for this method", got=method, allowed=", ".join(PROVES))
        raise InputError("this method can't be proved", [problem])
    return PROVES[method]


def passes(kind: str, what: Mapping[str, Any]) -> bool:
    """Say whether an entry of a checking kind found nothing wrong.

    Examples
    --------
    >>> passes("probe", {"tried": 3, "failed": 1}), passes("rolled", {"seen_by": "lead"})
    (False, True)
    """
    if kind == "probe":
        return bool(what["tried"] > 0 and what["failed"] == 0)
    if kind == "smoke":
        return not what["leaked"]
    return kind not in _GOOD or bool(what[_GOOD[kind]])
