"""Which holes are open: a register that can't be closed without a seal, and a ticket for whoever goes there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from hullwright.errors import InputError, Problem
from hullwright.proof.entries import Entry
from hullwright.proof.ledger import standing

SCHEMA: Final = {"name": "holes", "version": 1}


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole of the register.

    Parameters
    ----------
    entry : Entry
        The entry that made it known.
    seal : Entry or None
        The entry that closed it.
    """

    entry: Entry
    seal: Entry | None

    @property
    def open(self) -> bool:
        """Whether no seal closed it."""
        return self.seal is None

    @property
    def temporary(self) -> bool:
        """Whether it belongs to scaffold ties, braces, toe boards or fall anchors and comes out again."""
        return bool(self.entry.what.get("temporary", False))

    def to_json(self) -> dict[str, Any]:
        """Give the line of the register."""
        spot, seal = self.entry.spot, self.seal
        return {
            "id": self.entry.id,
            "joint": spot.joint,
            "face": spot.face,
            "place_m": None if spot.place is None else list(spot.place),
            "text": self.entry.what["text"],
            "made_by": self.entry.what["made_by"],
            "noted": self.entry.stamp.time.isoformat(),
            "temporary": self.temporary,
            "open": self.open,
            "sealed_with": None if seal is None else seal.what["product"],
            "detail": None if seal is None else seal.what["detail"],
        }


@dataclass(frozen=True, slots=True)
class Register:
    """All holes of a house."""

    holes: tuple[Hole, ...]

    @property
    def open(self) -> tuple[Hole, ...]:
        """Holes that no seal closed."""
        return tuple(hole for hole in self.holes if hole.open)

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``holes --json``."""
        return {
            "schema": dict(SCHEMA),
            "open": len(self.open),
            "open_temporary": sum(1 for hole in self.open if hole.temporary),
            "holes": [hole.to_json() for hole in self.holes],
            "cautions": [],
        }


@dataclass(frozen=True, slots=True)
class Ticket:
    """What somebody needs who goes to seal a hole.

    Parameters
    ----------
    hole : Hole
    product, detail : str
    dry : tuple of (datetime, datetime)
        Next dry hours, where weather is known.
    """

    hole: Hole
    product: str
    detail: str
    dry: tuple[tuple[datetime, datetime], ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give the ticket."""
        return {
            "hole": self.hole.to_json(),
            "product": self.product,
            "detail": self.detail,
            "dry_hours": [[start.isoformat(), end.isoformat()] for start, end in self.dry],
        }


def register(entries: Sequence[Entry]) -> Register:
    """Give the register.

    Parameters
    ----------
    entries : sequence of Entry
        All entries of the house.

    Returns
    -------
    Register
        In the order of the store.

    Examples
    --------
    >>> register([]).to_json()["open"]
    0
    """
    now = standing(entries).entries
    seals = {entry.what["hole"]: entry for entry in now if entry.kind == "hole sealed"}
    return Register(tuple(Hole(entry, seals.get(entry.id)) for entry in now if entry.kind == "hole"))


def check_seal(seal: Entry, entries: Sequence[Entry]) -> None:
    """Refuse a seal of a hole that is not in the register, or closed already.

    Raises
    ------
    InputError
    """
    known = {hole.entry.id: hole for hole in register(entries).holes}
    hole = known.get(seal.what["hole"])
    if hole is None or not hole.open:
        message = "no such hole is in the register" if hole is None else "this hole is sealed already"
        open_ids = ", ".join(key for key, value in known.items() if value.open)
        raise InputError(
            message, [Problem(message, got=seal.what["hole"], allowed=f"an open hole: {open_ids}")]
        )
