"""What is a drawing, as the lead issued it: faces, openings, penetrations and joints where they lie, and the file they came from.

A drawing is kept whole. A later program may name or find joints otherwise; what stood on the paper that the crew worked by
does not change with it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, lru_cache
from typing import Any, Final, Literal

from hullwright.errors import InputError, Problem, Where

Point = tuple[float, float, float]
Sort = Literal["opening", "penetration", "attachment"]
VERSION: Final = 1
DIGITS: Final = 5  # a hundredth of a millimetre: far below the half inch that counts as the same place


@dataclass(frozen=True, slots=True)
class DrawnFace:
    """One face of the hull.

    Parameters
    ----------
    id, body, kind : str
    loops : tuple of tuple of Point
        Outer loop counter-clockwise seen from outside, then holes [m].
    nailed : bool
        Whether something is nailed on it; concrete is not.
    was : str
        The id that it had before faces were renamed; ''.
    """

    id: str
    body: str
    kind: str
    loops: tuple[tuple[Point, ...], ...]
    nailed: bool = True
    was: str = ""

    def to_json(self) -> dict[str, Any]:
        """Give the face; ``nailed`` only where nothing is."""
        return {
            "id": self.id,
            "body": self.body,
            "kind": self.kind,
            "loops_m": [_points(loop) for loop in self.loops],
            **({} if self.nailed else {"nailed": False}),
            **({"was": self.was} if self.was and self.was != self.id else {}),
        }


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """An opening, a penetration, or a thing that is fixed over the layer later.

    Parameters
    ----------
    mark : str
        As on the drawing: ``W1``, ``P3``, or the user's own.
    sort : str
        ``opening``, ``penetration`` or ``attachment``.
    kind : str
        ``window``, ``pipe``, ``ledger`` …
    face : str
        Id of its face.
    outline : tuple of Point
        Its corners in order [m]; one point, the middle, for what is round.
    width, height : float
        [m]; of a round one its diameter twice.
    stage : str
        When it comes.
    """

    mark: str
    sort: Sort
    kind: str
    face: str
    outline: tuple[Point, ...]
    width: float
    height: float
    stage: str = ""

    @property
    def cuts(self) -> bool:
        """Whether it goes through the layer."""
        return self.sort != "attachment"

    def to_json(self) -> dict[str, Any]:
        """Give the part."""
        return {
            "mark": self.mark,
            "sort": self.sort,
            "kind": self.kind,
            "face": self.face,
            "outline_m": _points(self.outline),
            "width_m": round(self.width, DIGITS),
            "height_m": round(self.height, DIGITS),
            "stage": self.stage,
        }


@dataclass(frozen=True, slots=True)
class DrawnJoint:
    """One joint, as planned.

    Parameters
    ----------
    id : str
    kind : str
    faces : tuple of str
        The one that owns it first.
    points : tuple of Point
        Polyline; one point for a piece [m].
    length : float
        [m]; 0 for a piece.
    stage : str
        When it comes into existence.
    mark : str
        Of the opening, penetration or attachment it hangs on; ''.
    number : int
        Number of its line on the face, for people; 0.
    run : str
    substrates : tuple of str
    width, depth : float
        Section of a piece that passes the layer [m] (round: depth 0).
    method, product : str
        As planned; '' where no plan was issued with the drawing.
    primer : bool
        Whether the plan asks for primer.
    was : str
        The id that it had before ids held no words; ''.
    name : str
        In words, for people.
    """

    id: str
    kind: str
    faces: tuple[str, ...]
    points: tuple[Point, ...]
    length: float
    stage: str = ""
    mark: str = ""
    number: int = 0
    run: str = ""
    substrates: tuple[str, ...] = ()
    width: float = 0.0
    depth: float = 0.0
    method: str = ""
    product: str = ""
    primer: bool = False
    was: str = ""
    name: str = ""

    @property
    def piece(self) -> bool:
        """Whether it is one place rather than a line."""
        return len(self.points) == 1

    def to_json(self) -> dict[str, Any]:
        """Give the joint; what is empty is left out."""
        more = {
            "stage": self.stage,
            "mark": self.mark,
            "number": self.number,
            "run": self.run,
            "substrates": list(self.substrates),
            "width_m": round(self.width, DIGITS),
            "depth_m": round(self.depth, DIGITS),
            "method": self.method,
            "product": self.product,
            "primer": self.primer,
            "was": self.was,
            "name": self.name,
        }
        return {
            "id": self.id,
            "kind": self.kind,
            "faces": list(self.faces),
            "points_m": _points(self.points),
            "length_m": round(self.length, DIGITS),
            **{key: value for key, value in more.items() if value},
        }


@dataclass(frozen=True)
class Drawing:
    """A whole drawing.

    Parameters
    ----------
    house : str
        Name that the building file gives.
    text : str
        The building file, byte for byte.
    faces : tuple of DrawnFace
    parts : tuple of DrawnPart
    joints : tuple of DrawnJoint

    Examples
    --------
    >>> drawing = Drawing("Shed", "name: Shed", (), (), ())
    >>> drawing_from_text(drawing.body).text
    'name: Shed'
    """

    house: str
    text: str
    faces: tuple[DrawnFace, ...]
    parts: tuple[DrawnPart, ...]
    joints: tuple[DrawnJoint, ...]

    @cached_property
    def body(self) -> str:
        """The drawing as it is kept, always written the same way."""
        return json.dumps(
            self.to_json(), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
        )

    @cached_property
    def sha256(self) -> str:
        """Hash of :attr:`body`."""
        return hashlib.sha256(self.body.encode()).hexdigest()

    @cached_property
    def shape(self) -> str:
        """Hash of what is drawn: the same where only remarks or prices of the building file changed."""
        drawn = {key: value for key, value in self.to_json().items() if key not in {"text", "house"}}
        return hashlib.sha256(json.dumps(drawn, sort_keys=True).encode()).hexdigest()

    @cached_property
    def by_id(self) -> Mapping[str, DrawnJoint]:
        """Joints by id."""
        return {joint.id: joint for joint in self.joints}

    @cached_property
    def names(self) -> Mapping[str, str]:
        """Ids of joints by the ids that they had before."""
        return {joint.was: joint.id for joint in self.joints if joint.was and joint.was not in self.by_id}

    @cached_property
    def face_names(self) -> Mapping[str, str]:
        """Ids of faces by the ids that they had before."""
        return {face.was: face.id for face in self.faces if face.was and face.was not in self.face_ids}

    @cached_property
    def face_ids(self) -> frozenset[str]:
        """Ids of all faces."""
        return frozenset(face.id for face in self.faces)

    def to_json(self) -> dict[str, Any]:
        """Give everything on it."""
        return {
            "version": VERSION,
            "house": self.house,
            "text": self.text,
            "faces": [face.to_json() for face in self.faces],
            "parts": [part.to_json() for part in self.parts],
            "joints": [joint.to_json() for joint in self.joints],
        }


@dataclass(frozen=True, slots=True)
class Issued:
    """A drawing that was issued: a revision.

    Parameters
    ----------
    number : int
        1, 2, 3 …
    time : datetime
        By the clock of the store.
    author, reason : str
    after : int
        Highest number of an entry in the store at that moment: what came before and after it, whatever clocks say.
    drawing : Drawing
    """

    number: int
    time: datetime
    author: str
    reason: str
    after: int
    drawing: Drawing

    def to_json(self) -> dict[str, Any]:
        """Give what names it; not the whole drawing."""
        return {
            "number": self.number,
            "time": self.time.isoformat(),
            "author": self.author,
            "reason": self.reason,
            "sha256": self.drawing.sha256,
        }


@lru_cache(maxsize=32)
def drawing_from_text(body: str) -> Drawing:
    """Read a drawing as it is kept; the same text is read once.

    Parameters
    ----------
    body : str
        :attr:`Drawing.body`.

    Returns
    -------
    Drawing

    Raises
    ------
    InputError
        It is no drawing, or of a newer program.
    """
    try:
        data = json.loads(body)
        version = data["version"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _unreadable(str(error)[:120]) from error
    if version != VERSION:
        problem = Problem(
            "it was issued with a newer hullwright",
            Where(key="version"),
            str(version)[:40],
            f"up to {VERSION}",
            "update this program; nothing was changed",
        )
        raise InputError("this drawing can't be read", [problem])
    try:
        return _read(data)
    except (ValueError, KeyError, TypeError, IndexError) as error:
        raise _unreadable(str(error)[:120]) from error


def _unreadable(got: str) -> InputError:
    problem = Problem("not a drawing that hullwright issued", Where(key="drawing"), got)
    return InputError("this drawing can't be read", [problem])


def _read(data: Mapping[str, Any]) -> Drawing:
    return Drawing(
        str(data["house"]),
        str(data["text"]),
        tuple(map(_face, data["faces"])),
        tuple(map(_part, data["parts"])),
        tuple(map(_joint, data["joints"])),
    )


def _face(row: Mapping[str, Any]) -> DrawnFace:
    loops = tuple(map(_read_points, row["loops_m"]))
    return DrawnFace(
        row["id"], row["body"], row["kind"], loops, bool(row.get("nailed", True)), row.get("was", "")
    )


def _part(row: Mapping[str, Any]) -> DrawnPart:
    return DrawnPart(
        row["mark"],
        row["sort"],
        row["kind"],
        row["face"],
        _read_points(row["outline_m"]),
        float(row["width_m"]),
        float(row["height_m"]),
        row["stage"],
    )


def _joint(row: Mapping[str, Any]) -> DrawnJoint:
    return DrawnJoint(
        id=row["id"],
        kind=row["kind"],
        faces=tuple(row["faces"]),
        points=_read_points(row["points_m"]),
        length=float(row["length_m"]),
        stage=row.get("stage", ""),
        mark=row.get("mark", ""),
        number=int(row.get("number", 0)),
        run=row.get("run", ""),
        substrates=tuple(row.get("substrates", ())),
        width=float(row.get("width_m", 0.0)),
        depth=float(row.get("depth_m", 0.0)),
        method=row.get("method", ""),
        product=row.get("product", ""),
        primer=bool(row.get("primer", False)),
        was=row.get("was", ""),
        name=row.get("name", ""),
    )


def _points(points: Sequence[Point]) -> list[list[float]]:
    return [[round(x, DIGITS) + 0.0 for x in point] for point in points]


def _read_points(rows: Sequence[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((float(x), float(y), float(z)) for x, y, z in rows)
