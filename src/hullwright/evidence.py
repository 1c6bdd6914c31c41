"""How far a figure can be trusted.

Every default figure of hullwright is a :class:`Figure`: a value with its unit and its :class:`Evidence`. The mark follows
the figure to the screen and to the paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class Mark(StrEnum):
    """The marks, strongest last.

    The order is the order of trust: a result is no better than the weakest figure that weighs in it.
    """

    ESTIMATE = "estimate"
    MEMORY = "from memory, unverified"
    PRACTICE = "common practice, no source"
    REGRESSION = "regression"
    SHEET = "product sheet"
    PUBLISHED = "published"
    STATED = "stated by user"
    EARLIER = "measured on earlier jobs"
    MEASURED = "measured on this job"


@dataclass(frozen=True, slots=True)
class Evidence:
    """A mark with its source.

    Parameters
    ----------
    mark : Mark
        How far the figure can be trusted.
    source : str
        Document with clause or table; '' where there is none.
    """

    mark: Mark
    source: str = ""

    def __str__(self) -> str:
        """Mark and source as one text."""
        return f"{self.mark.value}: {self.source}" if self.source else self.mark.value

    def to_json(self) -> dict[str, str]:
        """Mark and source as JSON."""
        return {"mark": self.mark.value, "source": self.source}


ESTIMATE = Evidence(Mark.ESTIMATE)
STATED = Evidence(Mark.STATED)


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that knows where it comes from.

    Parameters
    ----------
    value : float
        The number, in `unit`.
    unit : str
        SI unit as text, '' for a pure number.
    evidence : Evidence
        Its mark and source.
    spread : float or None
        Geometric standard deviation, where one is stated.

    Examples
    --------
    >>> lam = Figure(1.5, "1/(100 m)", ESTIMATE)
    >>> print(lam)
    1.5 1/(100 m) [estimate]
    """

    value: float
    unit: str
    evidence: Evidence
    spread: float | None = None

    def __str__(self) -> str:
        """Value, unit, mark."""
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.value:g}{unit} [{self.evidence}]"

    def __float__(self) -> float:
        """The bare value."""
        return self.value

    def to_json(self) -> dict[str, Any]:
        """Value, unit and evidence as JSON."""
        out: dict[str, Any] = {"value": self.value, "unit": self.unit, "evidence": self.evidence.to_json()}
        if self.spread is not None:
            out["gsd"] = self.spread
        return out


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution that must be shown where the risk is.

    Parameters
    ----------
    text : str
        What to mind, short.
    evidence : Evidence
        Where it comes from.
    """

    text: str
    evidence: Evidence

    def to_json(self) -> dict[str, str]:
        """Text, source and mark as JSON."""
        return {"text": self.text, "source": self.evidence.source, "mark": self.evidence.mark.value}
