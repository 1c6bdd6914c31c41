"""The log of a house as phones send and read it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from hullwright.web.models.common import Answer, Given, Hash, Name, Sent, Uuid

Body = Annotated[
    str,
    Field(
        description="the entry as JSON text, exactly as the device keeps it: id, kind, author, device, device_time, "
        "device_sequence, known, joint, joint_kind, face, place_m, plan, run, mark, revision, what, supersedes, version (2; none is 1); at most 60 000 bytes",
    ),
]


class SentEntry(Sent):
    """One entry of a device's queue.

    Entries of kind chosen, covered, nailing, paper, placed, straps and withdrawn are taken of a lead only; of a trade, hole only.
    """

    id: Annotated[
        str, Field(max_length=100, description="UUID made by the device; a wrong one is refused by itself")
    ]
    body: Body


class Batch(Sent):
    """A device's queue, or part of it; order does not matter."""

    entries: Annotated[list[SentEntry], Field(min_length=1, max_length=500)]
    device_now: (
        Annotated[str, Field(max_length=40, description="the device's clock when it sends, with zone")] | None
    ) = None


class GaugeSaid(Given):
    """What a gauge reading shows of the least film, at once."""

    verdict: Literal["enough", "close", "too thin"]
    words: str = Field(description="what to do")
    low_um: float = Field(description="last wet notch, 0 where none was wet")
    high_um: float | None = Field(description="next dry notch; none where all were wet")
    least_wet_um: float
    aim_wet_um: float


class LeftOut(Given):
    """A joint that an entry does not take."""

    joint: str
    why: str


class Receipt(Given):
    """What became of one entry. Delete an entry only where id and body_hash are those sent and status is stored or duplicate."""

    id: str
    body_hash: str = Field(description="SHA-256 of the body text as it was sent (UTF-8), hexadecimal")
    status: Literal["stored", "duplicate", "refused"]
    number: int | None = Field(description="number in the store")
    reason: str = Field(description="why it was refused, or what is to be known of it; '' else")
    problems: list[dict[str, Any]]
    held: list[str] = Field(
        default_factory=list[str],
        description="why it is held for review: it is stored, and proves nothing until a correction or a product sheet comes",
    )
    gauge: GaugeSaid | None = Field(default=None, description="of a gauge reading that counts: what it shows")
    left_out: list[LeftOut] = Field(
        default_factory=list[LeftOut],
        description="joints that it does not take: method, product or stage does not fit",
    )
    lacking: str = Field(default="", description="'' or why it proves nothing as it is, with what to do")


class Receipts(Answer):
    """What became of each entry, in the order sent."""

    receipts: list[Receipt]
    highest: int = Field(
        description="highest number of the store: what the device knows once it has fetched everything"
    )


class Entry(Given):
    """One fact of the log, under the names of today."""

    version: int = Field(description="version of the record whose names its body was written in")
    id: str
    kind: str
    author: str
    device: str
    device_time: str
    device_sequence: int
    known: int
    joint: str
    joint_kind: str
    face: str
    place_m: list[float] | None
    plan: str
    run: str = Field(default="", description="run that it is about; '' or left out where none")
    mark: str = Field(default="", description="mark of an opening or penetration; '' or left out where none")
    revision: int = Field(
        default=0, description="issued drawing that it was made on; 0 or left out where none"
    )
    what: dict[str, Any]
    supersedes: str
    number: int
    server_time: str
    clock_offset_s: float | None


class Entries(Answer):
    """Entries of a house."""

    entries: list[Entry]
    rivals: list[dict[str, Any]]
    highest: int
    held: dict[str, list[str]] = Field(
        default_factory=dict[str, list[str]],
        description="by id: why an entry is held for review; it proves nothing until a correction or a product sheet comes",
    )
    places: dict[str, str] = Field(
        default_factory=dict[str, str],
        description="by id: where an entry is about, in words; ids of before and of earlier drawings too",
    )


class TakenBack(Given):
    """The entry that took another's place, or took it back."""

    id: str
    author: str
    device_time: str
    reason: str = Field(description="'' where none was given")


class Told(Given):
    """An entry about a joint."""

    entry: Entry
    words: str = Field(description="in trade words, figures in the units of the building file")
    aside: str = Field(description="where it is of a whole face or of a lot, or its clock was off; '' else")
    back: str = Field(description="by whom it was corrected or withdrawn, and why; '' where it stands")
    fate: Literal["stands", "corrected", "withdrawn", "passed over"]
    by: TakenBack | None
    over: Literal["joint", "face", "lot"] = Field(
        description="whether it names the joint, is of a whole face that the joint is on, or of its lot"
    )


class JointEntries(Answer):
    """What was logged about one joint so far, the latest first."""

    joint: str
    entries: list[Told]


class JointState(Given):
    """A state with its reasons."""

    joint: str
    state: Literal["not yet due", "bare", "prepared", "sealed", "proved", "covered", "punctured"]
    missing: list[str]
    open_holes: list[str]
    open_flaws: list[str]
    lots: list[str]


class States(Answer):
    """State of every joint."""

    counts: dict[str, int]
    joints: list[JointState]
    covered_too_early: list[str]
    started_too_early: list[str]
    not_to_start: dict[str, list[str]] = Field(
        description="faces on which no run may start yet, with what is in the way; a lead's entry of kind nailing opens one"
    )
    needs_place: list[dict[str, Any]]
    fasteners: list[dict[str, Any]]
    revision: int = Field(description="number of the drawing that it is of; 0 where none was issued")
    drawing_differs: bool = Field(
        description="whether the file differs from what was issued last: it counts once issued"
    )
    covered_faces: list[str]
    opened_again: list[dict[str, Any]] = Field(
        description="pieces of covered faces that no OK to cover stands for any more: joint, face, ok, why"
    )
    oks_that_do_not_count: list[dict[str, Any]] = Field(description="entry, face, why")
    patches: list[dict[str, Any]] = Field(
        description="holes that revisions left: joint, mark, revision, face, outline_m"
    )
    unclear: list[dict[str, Any]] = Field(
        description="entries that take not all that they name, or prove nothing: joints taken, joints left out and why, what is lacking"
    )
    held: dict[str, list[str]] = Field(
        description="by id: why an entry that stands is held for review; it proves nothing until then"
    )
    gaskets_late: list[str] = Field(description="gaskets that were logged after the plate was nailed down")


class Blocker(Given):
    """One thing in the way of covering a face."""

    id: str
    joint: str
    reason: str
    missing: list[str]
    where: str = Field(description="in words: the joint, opening or row, else the face")


class Ready(Answer):
    """May this face be covered."""

    face: str
    ready: bool
    joints: int
    states: dict[str, int]
    says: list[str] = Field(description="the answer in five lines, for people")
    blockers: list[Blocker]
    revision: int = Field(description="number of the drawing that it is of; 0 where none was issued")
    drawing_differs: bool = Field(
        description="whether the file differs from what was issued last: it counts once issued"
    )


class OkAsk(Sent):
    """A signed OK to cover."""

    exceptions: Annotated[list[Name], Field(max_length=5000)] = Field(default_factory=list[Name])
    supplements: Annotated[
        str,
        Field(max_length=36, description="id of an earlier OK to cover, for what fell out of it; '' else"),
    ] = ""


class Holes(Answer):
    """The register of holes."""

    open: int
    open_temporary: int
    holes: list[dict[str, Any]]
    patches: list[dict[str, Any]] = Field(
        description="holes that revisions left and nobody closed yet: joint, mark, revision, face, outline_m, state"
    )


class Lots(Answer):
    """Film lots."""

    lots: list[dict[str, Any]]
    unjudged: list[str]


class QueueFile(Sent):
    """A queue that a phone exported as a file."""

    hullwright_queue: Literal[1]
    house: Name
    device: Name
    entries: Annotated[list[SentEntry], Field(max_length=20_000)]


class PhotoArrived(Given):
    """How much of a photo is here."""

    sha256: Hash
    next_byte: int = Field(description="where to go on")
    complete: bool


class Tag(Given):
    """A tag for a wall: whoever scans it marks a hole there, if they were invited. It carries no key."""

    face: str
    address: str
    svg: str = Field(description="the address as a QR code")


class Tags(Answer):
    """A tag for each face."""

    tags: list[Tag]


class Quarantined(Given):
    """An entry that a revoked device sent."""

    id: str
    device: str
    person: str
    body: str
    sent_at: str


class Quarantine(Answer):
    """What revoked devices sent."""

    entries: list[Quarantined]


class QuarantineChoice(Sent):
    """Take these in, or drop them."""

    ids: Annotated[list[Uuid], Field(min_length=1, max_length=500)]
    take_in: bool
