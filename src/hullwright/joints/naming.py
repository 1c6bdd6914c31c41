"""Ids of joints and runs: from walls, marks and numbers alone, so that new words and edits elsewhere change none.

An id holds no kind word, unit or language. What an opening, a penetration or a later attachment brings hangs on its mark; seams
hang on their wall and number; edges on the faces that meet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Final

from hullwright.hull.model import Face, Hull
from hullwright.joints.before import kind_was
from hullwright.joints.draft import Draft
from hullwright.joints.model import JointKind
from hullwright.joints.renamed import KIND_NUMBERS, STAGE_NUMBERS, SUBSTRATE_NUMBERS

ALONG: Final = 1  # seams along the wall
UP: Final = 2  # seams up the wall or the slope
FLOOR: Final = 3  # floor lines
HEADS: Final = 4  # heads of overdriven fasteners
COVERED: Final = 5  # those under tape or liquid
PLATES: Final = 6  # partition top plates
TAILS: Final = 7  # framing that runs through
EDGE: Final = 1  # numbers of an opening's edges start here …
CORNER: Final = 11  # … and those of its corners here
ROWS: Final = {"rafter tails": 1, "lookouts": 2, "ridge beams": 3}
HIP_ROW: Final = 4
SEAMS: Final = frozenset({JointKind.SEAM_LEVEL, JointKind.SEAM_UPRIGHT})
_SAME_LINE: Final = 1e-3  # m: floor lines of one height


def edge_name(faces: Iterable[Face]) -> str:
    """Give the stem of the joints along the edges between two faces; they are numbered by place."""
    return f"{'+'.join(sorted(face.code for face in faces))}/"


def corner_name(faces: Iterable[Face]) -> str:
    """Give the stem of the pieces where three or more faces meet; they are numbered by place."""
    return f"{edge_name(faces)}0."


def edge_was(faces: Iterable[Face], kind: JointKind) -> str:
    """Give the name of before of a joint between faces."""
    return f"{' + '.join(sorted(face.was for face in faces))}:{kind_was(kind)}"


def number_stretches(drafts: Sequence[Draft], line: int, offset: Callable[[Draft], float]) -> None:
    """Number the stretches of each line of a face, from the left or from the bottom.

    Parameters
    ----------
    drafts : sequence of Draft
        Of one class, each with the number of its line; their names stand on the face's code.
    line : int
        Class.
    offset : callable
        Distance of the first point of a draft from the left end or the bottom of its face [m].
    """
    rows = sorted(drafts, key=lambda draft: (draft.faces[0], draft.number, offset(draft)))
    for _, group in groupby(rows, key=lambda draft: (draft.faces[0], draft.number)):
        members = list(group)
        for part, draft in enumerate(members, start=1):
            draft.name = f"{draft.name}/{line}.{draft.number}.{part}"
            draft.offset = offset(draft)
            draft.part = part if len(members) > 1 else 0


def number_lines(drafts: Sequence[Draft], height: Callable[[Draft], float]) -> None:
    """Number the lines of each face from the bottom.

    Parameters
    ----------
    drafts : sequence of Draft
    height : callable
        Height of a draft on its face [m].
    """
    rows = sorted(drafts, key=lambda draft: (draft.faces[0], height(draft)))
    for _, group in groupby(rows, key=lambda draft: draft.faces[0]):
        number, last = 0, float("-inf")
        for draft in group:
            number += height(draft) > last + _SAME_LINE
            last = height(draft)
            draft.number = number


def number_names(drafts: Iterable[Draft]) -> None:
    """Number joints of the same name, by place: those of today always, those of before from the second on."""
    today: dict[str, list[Draft]] = {}
    before: dict[str, list[Draft]] = {}
    for draft in drafts:
        today.setdefault(draft.name, []).append(draft)
        before.setdefault(draft.was, []).append(draft)
    for was, group in before.items():
        for number, draft in enumerate(sorted(group, key=_place)[1:], start=2):
            draft.was = f"{was} {number}"
    for name, group in today.items():
        stem = name.endswith(("/", "."))
        if not stem and len(group) == 1:
            continue
        for number, draft in enumerate(sorted(group, key=_place), start=1):
            draft.name = f"{name}{number}" if stem else f"{name}.{number}"
            draft.number = number if len(group) > 1 else 0


def _place(draft: Draft) -> tuple[float, ...]:
    return draft.place or tuple(draft.points[0].tolist())


def run_names(hull: Hull, draft: Draft) -> tuple[str, str]:
    """Give the id of the run of a joint, and the one of before.

    Face, kind, and what sets it apart from others of its kind there: its stage, a second substrate, missing backing, a moving thing,
    an edge between two faces. Equal ids are one run; a run of before may be several today.
    """
    face = hull.faces[draft.faces[0]]
    before = draft.before or draft.kind
    codes, words = [f"{face.code}:{KIND_NUMBERS[draft.kind]}"], [f"{face.was}:{kind_was(before)}"]

    def apart(code: str, word: str) -> None:
        codes.append(code)
        words.append(word)

    if draft.stage not in {"sheathing", "openings"}:
        apart(f"s{STAGE_NUMBERS[draft.stage]}", draft.stage)
    if draft.substrates[1] != draft.substrates[0]:
        second = draft.substrates[1]
        apart(f"t{SUBSTRATE_NUMBERS.get(second, second)}", f"to {second}")
    if not draft.backed:
        apart("u", "unbacked")
    if not draft.rigid:
        codes.append("m")
        words += ["moving"] if draft.source else []  # an edge that moves was not told apart then
    if not face.rated and any(hull.faces[number].rated for number in draft.faces[1:]):
        apart("r", "rated")
    if draft.kind in SEAMS and len(draft.faces) > 1:
        codes.append("e")
    if before in SEAMS and len(draft.faces) > 1:
        words.append("at the edge")
    return "-".join(codes), ", ".join(words)
