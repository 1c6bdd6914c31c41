"""Overdriven fasteners: what the strength of the wall asks for, and how many heads the layer needs sealed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hullwright.app.log import Log
from hullwright.evidence import Caution
from hullwright.material.cautions import NOT_AN_ENGINEER, SEAL_EVERY_BROKEN_FACE
from hullwright.material.fasteners import overdriven
from hullwright.proof.fastener_log import FaceFasteners, count_overdriven


@dataclass(frozen=True, slots=True)
class Fasteners:
    """Answer of ``fasteners``.

    Parameters
    ----------
    log : Log or None
        None where the counts were said by hand.
    faces : tuple of FaceFasteners
    """

    log: Log | None
    faces: tuple[FaceFasteners, ...]

    @property
    def exit_code(self) -> int:
        """0 where strength asks for nothing."""
        return 1 if any(face.strength.add or face.strength.engineer for face in self.faces) else 0

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """That this is a structural matter, and that heads are holes."""
        return NOT_AN_ENGINEER, SEAL_EVERY_BROKEN_FACE

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``fasteners --json``."""
        kept = {} if self.log is None else {"store": str(self.log.path), "house": self.log.house}
        return {
            "schema": {"name": "fasteners", "version": 1},
            **kept,
            "faces": [face.to_json() for face in self.faces],
            "add": sum(face.strength.add for face in self.faces),
            "to_seal": sum(face.to_seal for face in self.faces),
            "cautions": [caution.to_json() for caution in self.cautions],
        }


def logged(log: Log) -> Fasteners:
    """Give the counts of a log, by face."""
    return Fasteners(log, count_overdriven(log.standing()))


def counted(perimeter: int, shallow: int, deep: int) -> Fasteners:
    """Hold counts said by hand against the rule.

    Parameters
    ----------
    perimeter : int
        Perimeter fasteners looked at.
    shallow, deep : int
        Of these over 1/16 up to 1/8 in, and over 1/8 in.

    Returns
    -------
    Fasteners

    Examples
    --------
    >>> counted(100, 21, 0).to_json()["add"], counted(100, 20, 0).exit_code
    (11, 0)
    """
    strength = overdriven(perimeter, shallow, deep)
    return Fasteners(None, (FaceFasteners("", perimeter, shallow, deep, 0, strength),))
