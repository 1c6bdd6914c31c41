"""Houses, their files and their geometry."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from hullwright.building.nodes import MOST_BYTES
from hullwright.web.models.common import Answer, Evidence, Figure, Given, Hash, Id, Name, Sent

FileText = Annotated[str, Field(max_length=MOST_BYTES, description="whole text of a building file (YAML)")]
Scalar = str | int | float | bool
Value = Scalar | list[Any] | dict[str, Any] | None


class HouseLine(Given):
    """A house in the list."""

    id: str
    file: str
    example: bool = Field(description="comes with the program: read only, copy it to change it")
    draft: bool = Field(description="a text that can't be used yet is kept beside it")


class Houses(Answer):
    """The houses that this person is in."""

    folder: str
    houses: list[HouseLine]


class HouseNew(Sent):
    """A new house: from a text, or a copy of another."""

    name: Id
    text: FileText | None = None
    copy_of: Id | None = None


class House(Answer):
    """A house as it stands in its file."""

    id: str
    name: str
    file: str
    example: bool
    system: Literal["us", "metric"]
    currency: str
    text: str
    hash: str
    draft: str | None = Field(description="text that could not be used yet, None where there is none")
    assumed: list[str]
    problems: list[dict[str, Any]] = Field(
        description="problems of the file on disk; then the house has no geometry"
    )
    fixed: list[dict[str, str]] = Field(
        description="decisions in aim.fixed: method, product, primer, filler, face, kind, run"
    )
    aim: dict[str, float | None] = Field(description="budget, target_ach50, confidence")
    revision: int = Field(description="number of the drawing that was issued last; 0 where none is")
    drawing_differs: bool = Field(description="whether the file differs from what was issued last")


class TextPut(Sent):
    """The whole text of the building file."""

    text: FileText
    based_on: Hash


class ValuePatch(Sent):
    """One value of the building file."""

    key: Annotated[str, Field(min_length=1, max_length=300, description="path of keys: masses[0].roof.pitch")]
    value: Value = Field(default=None, description="new value; ignored where remove is true")
    remove: bool = False
    based_on: Hash


class Saved(Answer):
    """The file as it is on disk now."""

    text: str
    hash: str


class DraftPut(Sent):
    """Something typed that must not be lost."""

    text: FileText


class Draft(Answer):
    """A kept text."""

    text: str | None


class CheckFace(Given):
    """A face in figures."""

    id: str
    kind: str
    area_m2: float
    net_area_m2: float
    perimeter_m: float
    azimuth_deg: float | None
    tilt_deg: float
    substrate: str
    rated: bool
    openings: int
    penetrations: int


class OpenEnd(Given):
    """Where the hull is open."""

    where: dict[str, Any]
    length_m: float
    note: str


class Check(Answer):
    """Is the hull closed."""

    name: str
    closed: bool
    volume_m3: float
    inner_volume_m3: Figure
    area_m2: float
    joint_share: float
    floor_lines: dict[str, float] = Field(
        description="length of the joints that carry a floor line, by kind [m]"
    )
    open_ends: list[OpenEnd]
    faces: list[CheckFace]
    assumed: list[str]


class Joint(Given):
    """One joint; `length_m` for a line, `count` for pieces."""

    id: str
    name: str = Field(description="what people call it: east wall, horizontal seam 2")
    mark: str = Field(description="of the opening, penetration or attachment that it belongs to, or ''")
    kind: str
    length_m: float | None = None
    count: float | None = None
    faces: list[str]
    points: list[list[float]]
    run: str
    stage: str
    substrates: list[str]
    gap_mm: float
    backed: bool
    upslope_m: float
    height_m: float
    mass: str
    rated: bool
    floor_line: str = Field(description="body and story whose floor line it carries; empty for none")
    part: int = Field(description="of a line that is cut into several; 0 where it is whole")
    offset_m: float = Field(description="from the left end or the bottom of its face to its first point")
    was: str = Field(description="id of before, as older logs and plans name it")


class KindSum(Given):
    """Sum of a kind."""

    count: float
    length_m: float


class Joints(Answer):
    """Every joint."""

    name: str
    joints: list[Joint]
    by_kind: dict[str, KindSum]
    joint_share: float
    floor_lines: dict[str, float] = Field(
        description="length of the joints that carry a floor line, by kind [m]"
    )
    panels: list[dict[str, Any]]
    assumed: list[str]


class Frame(Given):
    """Axes of a face in space: point = origin + x·across + y·up [m]."""

    origin: list[float]
    across: list[float]
    up: list[float]
    normal: list[float]


class DrawnOpening(Given):
    """An opening in its face."""

    id: str
    kind: str
    polygon: list[float] = Field(description="x, y, x, y, … in face coordinates [m]")


class DrawnPenetration(Given):
    """A thing that passes a face."""

    id: str
    kind: str
    at: list[float] = Field(description="x, y in face coordinates [m]")


class DrawnFace(Given):
    """A face to draw."""

    id: str
    kind: str
    mass: str
    side: str
    azimuth_deg: float | None
    tilt_deg: float
    area_m2: float
    cold: bool
    sheet: int = Field(description="number of the sheet it hangs together with")
    hinges: list[int]
    transform: list[float] = Field(
        description="a, b, c, d, e, f: face x, y go to the sheet at X = a·x + c·y + e, Y = b·x + d·y + f [m], Y upwards"
    )
    frame: Frame
    loops: list[list[float]] = Field(
        description="outer loop, then holes: x, y, x, y, … in face coordinates [m]"
    )
    openings: list[DrawnOpening]
    penetrations: list[DrawnPenetration]


class Mesh(Given):
    """Triangles of the solid."""

    points: list[float] = Field(description="x, y, z, … [m], z up")
    triangles: list[int] = Field(description="point numbers, three a triangle")
    face: list[int] = Field(description="face number of each triangle")


class DrawnKind(Given):
    """A kind of joint."""

    name: str
    piece: bool
    everywhere: bool = Field(description="counted over a whole face: not drawn at a place")


class DrawnJoints(Given):
    """All joints as columns; joint k has the points offset[k] … offset[k + 1]."""

    id: list[str]
    name: list[str] = Field(description="what people call it: east wall, horizontal seam 2")
    mark: list[str] = Field(description="of the opening, penetration or attachment that it belongs to, or ''")
    kind: list[int] = Field(description="number in kinds")
    run: list[int] = Field(description="number in runs, -1 for none")
    owner: list[int] = Field(description="face that it is drawn on, once")
    other: list[int] = Field(description="face on its other side, -1 for none")
    length_m: list[float]
    count: list[float]
    stage: list[str]
    surface: list[str] = Field(description="what it lies on, '' where nobody knows")
    offset: list[int]
    xy: list[float] = Field(description="x, y of all points in coordinates of the owner face [m]")
    xyz: list[float] = Field(description="x, y, z of all points [m]")


class DrawnRun(Given):
    """A run."""

    id: str
    name: str = Field(description="what people call it: east wall, horizontal seam, no backing")
    kind: str
    face: str
    stage: str
    quantity: float = Field(description="metres, or pieces as `piece` says")
    piece: bool
    joints: list[int] = Field(description="numbers of its joints")
    method: str = Field(
        default="", description="as issued with the drawing; '' for the file as it stands, or without a plan"
    )
    product: str = Field(default="", description="as issued with the drawing, '' else")


class Size(Given):
    """Size of the unrolled sheet, lower left at 0, 0."""

    width_m: float
    height_m: float


class Geometry(Answer):
    """Everything that is drawn of a house."""

    name: str
    system: Literal["us", "metric"]
    hash: str
    revision: int = Field(
        description="number of the issued drawing that this is; 0 for the file as it stands, or where none was issued"
    )
    sheet: Size
    faces: list[DrawnFace]
    mesh: Mesh
    kinds: list[DrawnKind]
    joints: DrawnJoints
    runs: list[DrawnRun]


class TestDayStep(Given):
    """One line of the list."""

    text: str
    when: str
    evidence: Evidence
    danger: bool
    seal: bool


class TestDay(Answer):
    """List of the day of the fan test."""

    steps: list[TestDayStep]


class NewName(Sent):
    """A name."""

    name: Name
