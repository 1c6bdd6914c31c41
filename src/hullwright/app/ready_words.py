"""May this face be covered, in words: five lines that answer, and each thing in the way by its place on the house."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any, Final

from hullwright.app.spoken import Spoken
from hullwright.proof.cover import Blocker, Ready

_NOT_PROVED: Final = {"unproved": "sealed and not proved"}
_MOST: Final = 3  # things of the whole face that a line names


def ready_json(answer: Ready, said: Spoken) -> dict[str, Any]:
    """Give the answer with its words: ``says`` in five lines, and for each thing in the way ``where`` it is."""
    found = answer.to_json()
    for row, blocker in zip(found["blockers"], answer.blockers, strict=True):
        row["where"] = where(blocker, answer.face, said)
    return found | {"says": list(lines(answer, said))}


def where(blocker: Blocker, face: str, said: Spoken) -> str:
    """Say where a thing in the way is: its joint, opening or row in words, else the face.

    Examples
    --------
    >>> where(Blocker("W1:photo", "", "opening without a photo"), "F1", Spoken(None))
    'W1'
    """
    return said.any(blocker.joint or blocker.id.rpartition(":")[0] or face)


def lines(answer: Ready, said: Spoken) -> tuple[str, ...]:
    """Give the answer, the joints by state, what is in the way on joints, what on the whole face, and what to do first.

    Parameters
    ----------
    answer : Ready
    said : Spoken
        Words for the places of the house.

    Examples
    --------
    >>> lines(Ready("F1", 2, (), {"proved": 2}), Spoken(None))[:2]
    ('F1 may be covered: sign it with `hullwright ok-to-cover`.', '2 joints: 2 proved.')
    """
    face = said.wall(answer.face)
    face = face[:1].upper() + face[1:]
    states = ", ".join(f"{count} {state}" for state, count in answer.states.items())
    first = (
        f"{face} may be covered: sign it with `hullwright ok-to-cover`."
        if answer.ready
        else f"{face} is NOT ready to cover."
    )
    counted = f"{answer.joints} {'joint' if answer.joints == 1 else 'joints'}: {states}."
    if answer.ready:
        return first, counted
    by_joint = {blocker.joint: blocker for blocker in reversed(answer.blockers) if blocker.joint}
    whole = [blocker for blocker in answer.blockers if not blocker.joint]
    return (
        first,
        counted,
        f"Joints in the way: {_count(by_joint.values(), answer.joints)}.",
        f"Else in the way: {_whole(whole, answer.face, said)}.",
        f"Do first: {_first(answer, said)}.",
    )


def _count(blockers: Iterable[Blocker], joints: int) -> str:
    found = Counter(_NOT_PROVED.get(blocker.reason, blocker.reason) for blocker in blockers)
    total = sum(found.values())
    if not total:
        return "none"
    return f"{total} of {joints} ({', '.join(f'{count} {reason}' for reason, count in found.items())})"


def _whole(blockers: Iterable[Blocker], face: str, said: Spoken) -> str:
    own = [
        blocker.reason
        if blocker.id.startswith(f"{face}:")
        else f"{blocker.reason} ({where(blocker, face, said)})"
        for blocker in blockers
    ]
    more = f"; and {len(own) - _MOST} more" if len(own) > _MOST else ""
    return "; ".join(own[:_MOST]) + more if own else "nothing"


def _first(answer: Ready, said: Spoken) -> str:
    blocker = answer.blockers[0]
    todo = blocker.missing[0] if blocker.missing else f"see to what is {blocker.reason}"
    at = where(blocker, answer.face, said)
    return todo if blocker.id.startswith(f"{answer.face}:") else f"{todo} ({at})"
