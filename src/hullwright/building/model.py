"""The house as stated, in SI, with every place in the file kept for error messages.

All lengths [m], angles [deg], money in the file's currency. Plan axes: +x plan east, +y plan north; ``north`` turns
the plan against true north. Nothing here is computed from geometry: positions by even spacing are resolved by the
reader, areas and faces are the hull's work.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from hullwright.errors import NOWHERE, Where
from hullwright.evidence import Figure

Point = tuple[float, float]
RoofForm = Literal["flat", "shed", "gable", "hip", "other"]
Top = Literal["roof deck", "ceiling"]
Framing = Literal["shared", "own"]
BottomKind = Literal["slab", "crawl space", "basement", "outside air", "on mass"]
OpeningKind = Literal["window", "door", "garage door", "skylight"]
PenetrationKind = Literal[
    "pipe",
    "duct",
    "box",
    "cable group",
    "beam",
    "hose bib",
    "flue",
    "chimney",
    "hatch",
    "chase",
    "light",
    "fan",
]
Stage = Literal["sheathing", "openings", "services", "later"]
FaceGroup = Literal["wall", "roof", "floor", "ceiling"]
Surface = Literal["clean", "dusty", "damp", "rough"]


@dataclass(frozen=True, slots=True)
class Roof:
    """A roof over one mass.

    Parameters
    ----------
    form : str
        flat, shed, gable or hip; other only over a barrier at the ceiling.
    pitch : float
        Slope of the planes [deg], 0 for flat.
    ridge : float
        Plan bearing of the ridge (gable, hip) or of the downhill direction (shed) [deg clockwise from plan north].
    parapet_height, parapet_thickness : float
        Parapet round a flat roof [m]; 0 for none. The layer runs up its inside and over its top.
    """

    form: RoofForm
    pitch: float = 0.0
    ridge: float = 0.0
    parapet_height: float = 0.0
    parapet_thickness: float = 0.0


@dataclass(frozen=True, slots=True)
class Storey:
    """One storey: its name and its height floor to floor, the last to the wall top [m]."""

    name: str
    height: float


@dataclass(frozen=True, slots=True)
class Bottom:
    """Where the barrier runs at the bottom of a mass.

    Parameters
    ----------
    kind : str
        slab, crawl space (barrier on its floor), basement (walls down to `level`), outside air (floor over air), or
        on mass (dormer, upper storey: no bottom of its own).
    level : float
        Height of the hull's bottom [m], in the same datum as the mass's base. For a slab: underside of the concrete
        edge that the layer covers (equal to the base where the layer ends at the sill).
    """

    kind: BottomKind
    level: float


@dataclass(frozen=True, slots=True)
class Mass:
    """One simple body of the house.

    Parameters
    ----------
    id : str
        Name in the file.
    outline : tuple of (x, y)
        Plan polygon, counter-clockwise, no repeated last point [m].
    sides : tuple of str
        Name of each outline edge (edge i runs from point i to point i + 1): south, east, … or ``south 1`` where several
        face the same way.
    base : float
        Top of the slab or foundation wall, on which the sill plate lies: the sill joint runs there, walls start there and
        heights of the lowest storey are counted from it [m].
    storeys : tuple of Storey
        From the bottom up.
    inside : bool
        Inside the hull; a cold garage or porch is not.
    ground : float
        Height of the ground at this mass [m], for access and water.
    framing : str
        ``shared``: one framing with the bodies beside it; ``own``: framed by itself.
    """

    id: str
    outline: tuple[Point, ...]
    sides: tuple[str, ...]
    base: float
    storeys: tuple[Storey, ...]
    roof: Roof
    inside: bool
    top: Top
    bottom: Bottom
    ground: float
    where: Where = NOWHERE
    framing: Framing = "shared"

    @property
    def wall_top(self) -> float:
        """Height of the wall top [m] (low end of a shed)."""
        return self.base + sum(storey.height for storey in self.storeys)

    def floor(self, storey: int) -> float:
        """Height of the floor of a storey [m]."""
        return self.base + sum(s.height for s in self.storeys[:storey])


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A side of a mass that is not plain outside wall: party wall, garage wall, shaft wall.

    Parameters
    ----------
    kind : str
        ``party wall``, ``garage wall`` or ``shaft``.
    storeys : tuple of int
        Storeys it spans (indices); empty: all.
    rated : bool
        Fire-resistance rated: listed systems only.
    """

    kind: Literal["party wall", "garage wall", "shaft"]
    mass: str
    side: int
    storeys: tuple[int, ...]
    rated: bool
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class Through:
    """Framing that runs through the layer at an eave or rake: rafter tails, lookouts, ridge beams.

    Parameters
    ----------
    kind : str
        ``rafter tails``, ``lookouts`` or ``ridge beams``.
    width, depth : float
        Section [m].
    spacing : float or None
        On centre [m] (None where `count` is stated).
    count : int or None
        Number of pieces.
    """

    kind: Literal["rafter tails", "lookouts", "ridge beams"]
    mass: str
    side: int
    width: float
    depth: float
    spacing: float | None
    count: int | None
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening, placed.

    Parameters
    ----------
    side : int or None
        Edge of the outline; for a skylight: the side that its roof plane falls towards.
    storey : int or None
        Storey index; None for a skylight.
    offset : float
        From the left end of the side, seen from outside, to the left edge of the opening [m].
    sill : float
        Above the storey's floor (skylight: up the slope from the eave) [m].
    frame : str
        Substrate that the layer is joined to: ``vinyl flange``, ``metal``, ``wood``.
    leakage : Figure or None
        Rated leakage of the unit at 75 Pa [L/(s m2)].
    mark : str
        Its mark on drawing, card and joints: ``W3`` or the user's own; '' where the house was not read from a file.
    order : int
        Number of its place in its row of the file, from 0.
    """

    id: str
    kind: OpeningKind
    mass: str
    side: int
    storey: int | None
    width: float
    height: float
    sill: float
    offset: float
    frame: str
    leakage: Figure | None = None
    where: Where = NOWHERE
    mark: str = ""
    order: int = 0


@dataclass(frozen=True, slots=True)
class Penetration:
    """A row of like things that pass the layer, placed one by one.

    Parameters
    ----------
    face : str
        ``wall``, ``roof``, ``bottom`` or ``ceiling``.
    side : int or None
        Edge of the outline (wall), or the side that the roof plane falls towards (sloped roof); else None.
    width, depth : float
        Section [m]; a round thing has ``depth == 0`` and `width` is its outside diameter.
    places : tuple of (x, y)
        Wall and sloped roof: (from the left end of the side seen from outside, above the storey's floor or up the
        slope) [m]; bottom, ceiling and flat roof: plan coordinates [m].
    rigid : bool
        Rigid, or moving (hose, cable, vibrating duct).
    clearance : float
        Least distance of combustible material (flue, chimney) [m].
    marks : tuple of str
        One for each place; empty where the house was not read from a file.
    order : tuple of int
        Number of each place in its row of the file, from 0.
    """

    id: str
    kind: PenetrationKind
    mass: str
    face: Literal["wall", "roof", "bottom", "ceiling"]
    side: int | None
    storey: int | None
    width: float
    depth: float
    places: tuple[Point, ...]
    rigid: bool
    stage: Stage
    clearance: float = 0.0
    where: Where = NOWHERE
    marks: tuple[str, ...] = ()
    order: tuple[int, ...] = ()

    @property
    def round(self) -> bool:
        """Whether it is round."""
        return self.depth == 0


@dataclass(frozen=True, slots=True)
class FixedOver:
    """A thing that is fixed over the layer later: its strip or sleeve comes first.

    Parameters
    ----------
    offset, width : float
        Left end and length along the side, seen from outside [m].
    height : float
        Of its top above the storey's floor [m].
    depth : float
        Its own height [m].
    mark : str
        As of an opening.
    """

    id: str
    kind: Literal["ledger", "porch roof", "meter base", "mounting block", "strap"]
    mass: str
    side: int
    storey: int
    offset: float
    width: float
    height: float
    depth: float
    where: Where = NOWHERE
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Fasteners:
    """Schedule of nails or screws in a panel [m] and the share driven too deep."""

    edge: float
    field: float
    overdriven: Figure


@dataclass(frozen=True, slots=True)
class Sheathing:
    """What the layer is made of on one group of faces.

    Parameters
    ----------
    substrate : str
        Key of the catalogue's substrates.
    panel_width, panel_length : float
        Panel [m], width the shorter.
    lay : str
        ``level``: long edge level (across studs or rafters), ``upright``: long edge upright.
    gap : float
        Gap between panels [m].
    stagger : float
        Shift of every other row along the lay [m].
    framing : float
        Framing spacing [m].
    blocking : bool
        Edges between framing are backed by blocking.
    least_offcut : float
        A strip narrower than this is not cut: the neighbour panel is cut to share [m].
    """

    substrate: str
    panel_width: float
    panel_length: float
    lay: Literal["level", "upright"]
    gap: float
    stagger: float
    framing: float
    blocking: bool
    least_offcut: float
    fasteners: Fasteners


@dataclass(frozen=True, slots=True)
class Site:
    """Bare days, rain and wind before cladding.

    Parameters
    ----------
    bare_days : float
        Days from sheathing to covering [d].
    monthly_rain : Figure
        [mm] = [L/m2] a month.
    north : float
        Bearing of plan north, clockwise from true north [deg].
    """

    bare_days: float
    monthly_rain: Figure
    north: float = 0.0


@dataclass(frozen=True, slots=True)
class Crew:
    """Who works at what rate.

    Parameters
    ----------
    people : int
    rate : float
        Money an hour and person.
    hours : float
        Most hours there are for sealing [h], inf for no limit.
    day : float
        Working hours a day [h].
    practised : tuple of str
        Methods the crew has done before.
    """

    people: int
    rate: float
    hours: float
    day: float
    practised: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fixed:
    """A decision the user has made: these joints by this method, whatever the sums say.

    Empty fields match everything.

    Parameters
    ----------
    primer, filler : str
        Product that goes before it, ``none`` for going without; '' leaves it to the plan.
    """

    method: str
    product: str = ""
    face: str = ""
    kind: str = ""
    run: str = ""
    where: Where = NOWHERE
    primer: str = ""
    filler: str = ""


@dataclass(frozen=True, slots=True)
class Aim:
    """What the plan is made for.

    Parameters
    ----------
    budget : float
        Most money, inf where none is stated.
    target_ach50 : float or None
        Air changes an hour at 50 Pa to reach [1/h].
    confidence : float
        With which the target must be reached.
    air_weight, water_weight : float
        Weights of the goal in budget mode.
    air_target : float
        ACH50 that counts as 1 in the goal [1/h].
    water_limit : float or None
        Water that counts as 1 [L]; None: 10 L scaled with the roof area.
    most_products, most_unknown_meetings : int or None
        Limits.
    worst_piece : float
        Most expected leakage of a single piece [cm2], inf for none.
    """

    budget: float
    target_ach50: float | None
    confidence: float
    air_weight: float
    water_weight: float
    air_target: float
    water_limit: float | None
    most_products: int | None
    most_unknown_meetings: int | None
    worst_piece: float
    fixed: tuple[Fixed, ...] = ()


@dataclass(frozen=True, slots=True)
class Ceiling:
    """What crosses the barrier where it runs at the ceiling: the length of partition top plates [m] and whether they are rated."""

    partition_plates: float


@dataclass(frozen=True, slots=True)
class BuildUp:
    """Thickness from the hull to the inner surface by group [m]; `inner_volume` [m3] and `floor_area` [m2] win where stated.

    `sure` names those of them that look odd beside the hull and are right; `places` says where they stand.
    """

    wall: float
    roof: float
    floor: float
    ceiling: float
    inner_volume: float | None
    floor_area: float | None
    inside_vapour_class: int | None = None
    sure: frozenset[str] = frozenset()
    places: Mapping[str, Where] = field(default_factory=dict[str, Where], compare=False)


@dataclass(frozen=True, slots=True)
class Building:
    """All that the user stated.

    Parameters
    ----------
    system : str
        ``us`` or ``metric``: the units people read.
    sheathing : mapping
        One :class:`Sheathing` for each of wall, roof, floor, ceiling.
    surfaces : mapping
        State of the surface by group, mass or ``mass/side``: the most exact key wins.
    prices, stock : mapping
        Money a pack and packs at hand by product id.
    products : tuple of mapping
        The user's own product sheets, as written (checked by the catalogue).
    use : str
        ``mine``: no invented product is offered; ``any``: invented ones stand in where none of the user's own may.
    other_leakage : mapping
        Leakage that no sealing changes, by name [m3/h at 50 Pa].
    assumed : tuple of str
        Every default that was taken, with its evidence, for people to see.
    experience : tuple of str
        Files with what earlier houses taught.
    stated_marks : frozenset of str
        Marks that stand in the file, case folded; the others were numbered by the reader.
    remarks : tuple of str
        What is no mistake and should be said: a `sure` that answers nothing.
    photos : mapping of str to int
        How many photos the file asks for of each face, opening, group of penetrations, row of tails, where it says.
    """

    name: str
    system: Literal["us", "metric"]
    currency: str
    masses: tuple[Mass, ...]
    neighbours: tuple[Neighbour, ...]
    through: tuple[Through, ...]
    openings: tuple[Opening, ...]
    penetrations: tuple[Penetration, ...]
    fixed_over: tuple[FixedOver, ...]
    sheathing: Mapping[FaceGroup, Sheathing]
    surfaces: Mapping[str, tuple[Surface, ...]]
    build_up: BuildUp
    ceiling: Ceiling
    site: Site
    crew: Crew
    aim: Aim
    prices: Mapping[str, float] = field(default_factory=dict)
    stock: Mapping[str, float] = field(default_factory=dict)
    products: tuple[Mapping[str, object], ...] = ()
    use: Literal["any", "mine"] = "any"
    other_leakage: Mapping[str, Figure] = field(default_factory=dict)
    figures: Mapping[str, Figure] = field(default_factory=dict)
    file: str = ""
    assumed: tuple[str, ...] = ()
    experience: tuple[str, ...] = ()
    stated_marks: frozenset[str] = frozenset()
    remarks: tuple[str, ...] = ()
    photos: Mapping[str, int] = field(default_factory=dict)

    def mass(self, name: str) -> Mass:
        """Give the mass of that name."""
        return next(mass for mass in self.masses if mass.id == name)
