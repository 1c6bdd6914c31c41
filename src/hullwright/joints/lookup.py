"""Joints, runs and faces by any name that stands in a record or that a person types: of today or of before, by mark, by words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Protocol, TypeVar

from hullwright.errors import InputError, Problem, Where
from hullwright.hull.model import Face, Hull
from hullwright.joints.before import short
from hullwright.joints.model import Joint, JointSet, Run

_SAID: Final = 8


class Named(Protocol):
    """A joint or a run."""

    @property
    def id(self) -> str:
        """Id of today."""
        ...

    @property
    def was(self) -> str:
        """Id of before."""
        ...

    @property
    def name(self) -> str:
        """What people read."""
        ...


T = TypeVar("T", bound=Named)


@dataclass(frozen=True, slots=True)
class Lookup:
    """What a name means on one drawing.

    Parameters
    ----------
    joints : mapping of str to Joint
        By the id of today and by that of before.
    runs : mapping of str to Run
        Likewise.
    faces : mapping of str to Face
        Likewise.
    marks : mapping of str to tuple of Joint
        Joints of each mark, case folded.
    """

    joints: Mapping[str, Joint]
    runs: Mapping[str, Run]
    faces: Mapping[str, Face]
    marks: Mapping[str, tuple[Joint, ...]]

    def joint(self, name: str) -> Joint | None:
        """Give the joint of that id, of today or of before; None where there is none."""
        return self.joints.get(name)

    def run(self, name: str) -> Run | None:
        """Give the run of that id, of today or of before; None where there is none."""
        return self.runs.get(name)

    def face(self, name: str) -> str | None:
        """Give today's id of a face named by its id of today or of before; None where there is none."""
        found = self.faces.get(name)
        return None if found is None else found.id

    def marked(self, mark: str) -> tuple[Joint, ...]:
        """Give all joints of an opening, a penetration or a later attachment by its mark; letter case is ignored."""
        return self.marks.get(mark.strip().casefold(), ())


def lookup(joints: JointSet, hull: Hull) -> Lookup:
    """Make the table of a drawing; build it once and ask it often.

    Parameters
    ----------
    joints : JointSet
    hull : Hull

    Returns
    -------
    Lookup
        Where an id of before is another's id of today, today's wins.
    """
    marks: dict[str, list[Joint]] = {}
    for joint in joints.joints:
        if joint.mark:
            marks.setdefault(joint.mark.casefold(), []).append(joint)
    return Lookup(
        _both(joints.joints),
        _both(joints.runs),
        {**{face.was: face for face in hull.faces}, **{face.id: face for face in hull.faces}},
        {mark: tuple(found) for mark, found in marks.items()},
    )


def _both(things: Iterable[T]) -> dict[str, T]:
    known = list(things)
    return {**{one.was: one for one in known}, **{one.id: one for one in known}}


def find(text: str, things: Sequence[T]) -> list[T]:
    """Find the joints or runs that a person means: by id, words or mark, of today or of before, else by how one of them begins.

    Parameters
    ----------
    text : str
    things : sequence of Joint or Run

    Returns
    -------
    list of Joint or Run
        Every one that may be meant, in their order.
    """
    wanted = " ".join(text.split())
    ways: tuple[Callable[[T], tuple[str, ...]], ...] = (
        lambda one: (one.id,),
        lambda one: (one.was,),
        lambda one: (one.name, short(one.was)),
        lambda one: (getattr(one, "mark", ""),),
    )
    for names in ways:
        found = [one for one in things if wanted and wanted.casefold() in map(str.casefold, names(one))]
        if found:
            return found
    return [one for one in things if wanted and _begins(one, wanted)]


def _begins(one: Named, text: str) -> bool:
    return any(
        name.casefold().startswith(text.casefold()) for name in (one.id, one.was, one.name, short(one.was))
    )


def one(text: str, things: Sequence[T], *, what: str = "joint", key: str = "joint") -> T:
    """Find the one joint or run that a person means.

    Parameters
    ----------
    text : str
        Id, words, mark, of today or of before, or the beginning of one.
    things : sequence of Joint or Run
    what, key : str
        What it is, and where it was stated.

    Raises
    ------
    InputError
        None or several are meant: with those that may be.
    """
    found = find(text, things)
    if len(found) == 1:
        return found[0]
    if not found:
        near = [
            f"{one.id} ({one.name})"
            for one in things
            if text.lower() in f"{one.id} {one.name} {one.was}".lower()
        ]
        allowed = "; ".join(near[:_SAID]) or "an id, mark or name as `hullwright joints FILE` gives it"
        raise InputError(f"no such {what}", [Problem(f"no such {what}", Where(key=key), text, allowed)])
    more = f"; and {len(found) - _SAID} more" if len(found) > _SAID else ""
    problem = Problem(
        f"{len(found)} {what}s may be meant",
        Where(key=key),
        text,
        "; ".join(f"{one.id} ({one.name})" for one in found[:_SAID]) + more,
        "state the id of one of them",
    )
    raise InputError(f"which {what} is meant", [problem])


def called(run: Run) -> frozenset[str]:
    """Give every name by which a decision in a file may mean a run: of today, of before, in words."""
    return frozenset({run.id, run.was, run.name, short(run.was)})
