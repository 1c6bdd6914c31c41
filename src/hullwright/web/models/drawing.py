"""Issued drawings and what they change."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from hullwright.web.models.common import Answer, Given, Hash, Sent

Size = Annotated[list[float], Field(min_length=2, max_length=2, description="width and height [m]")]


class Difference(Given):
    """One thing that is not as it was."""

    changes: list[Literal["came", "went", "moved", "changed size", "renamed"]]
    sort: Literal["wall or roof", "opening", "penetration", "attachment"]
    kind: str
    was: str = Field(description="mark or face id on the drawing before, '' where it is not there")
    now: str = Field(description="mark or face id on this drawing, '' where it is not there")
    face: str
    moved_m: float
    size_was_m: Size | None
    size_now_m: Size | None


class JointStretch(Given):
    """A stretch of a joint; a piece from 0 to 0."""

    joint: str
    from_m: float
    to_m: float


class Revision(Given):
    """What lies between two drawings."""

    differences: list[Difference]
    new: list[JointStretch] = Field(description="of this drawing: where no joint of the kind was")
    gone: list[JointStretch] = Field(description="of the drawing before: where none is any more")
    renamed: int = Field(description="joints that are where they were and go by another id")
    replanned: list[str] = Field(description="joints that are where they were and are planned otherwise")


class Issued(Given):
    """A drawing that was issued."""

    number: int
    time: str
    author: str
    reason: str
    sha256: Hash


class IssuedStep(Issued):
    """A drawing that was issued, and what it changed."""

    changed: Revision | None
    worked_on: list[str] = Field(description="faces on which more than nailing had been logged")


class Revisions(Answer):
    """All issued drawings."""

    revision: int = Field(description="number of the last one; 0 where none is issued")
    revisions: list[IssuedStep]
    differs: Revision | None = Field(
        description="what the file as it stands changes; it counts once it is issued"
    )
    prove_again: dict[str, list[JointStretch]] = Field(description="by face on which work was logged")
    patch_here: list[dict[str, Any]] = Field(
        description="holes that revisions left in the wall: joint, mark, revision, face, outline_m"
    )


class IssueAsk(Sent):
    """Issue the file as it stands."""

    reason: Annotated[str, Field(max_length=2000)] = ""


class Issue(Answer):
    """What became of it."""

    issued: Issued
    new: bool = Field(description="false where nothing had changed: the last one stands")
    revision: Revision | None
    unplanned: int = Field(description="joints without a planned method")
    marks_written: int = Field(
        description="marks that were written into the file, so that later edits keep them"
    )
    said: str = Field(description="what became of the marks; '' where the file had them all")
