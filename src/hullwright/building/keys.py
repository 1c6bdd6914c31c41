"""Every key of the building file: what it means, what it takes, its default. Reader and JSON Schema both come from here."""

from __future__ import annotations

from typing import Final

from hullwright.building.defaults import COMMON, FRAME, LEVEL_ZERO
from hullwright.building.kinds import Number, Text, Word, YesNo
from hullwright.building.marks import MarkText
from hullwright.building.measures import Bearing, Pitch, Quantity, Rate, Section
from hullwright.building.model import OpeningKind, PenetrationKind
from hullwright.building.spec import Default, Either, Key, Kind, ListOf, Table
from hullwright.units import CFM, FOOT

SECTION_BARE: Final = "in|mm"
NAME: Final = Text("a name", most=60)
LEVEL: Final = Quantity("level")
_PLACE: Final = Quantity("plan place")
_PAIR: Final[Kind] = ListOf(_PLACE, 2, 2, "numbers: [x, y]")
_SIZE: Final = Quantity("opening size")
_EXTENT: Final = Quantity("side of a body")
_TIMBER: Final = Quantity("timber side", SECTION_BARE)
_PIECE: Final = Quantity("piece size", SECTION_BARE)


def _section(side: Quantity) -> Kind:
    return Either(scalar=Section(side), list=ListOf(side, 2, 2, "numbers: [width, depth]"))


_SIDE_DOC: Final = "side of the mass: south, east, north, west, `south 2`, or `side 3` by number"
_SIDE: Final = Text("a side such as south", most=40)
_STOREY: Final = Text("a storey: its name, or 1 for the lowest", most=60)
_MASS: Final = Key(NAME, "name of the mass; may be left out where one mass only is inside the hull")
_STOREY_KEY: Final = Key(
    _STOREY, "storey by name or number, 1 the lowest; may be left out where the mass has one storey"
)
_WHERE: Final = {"name": Key(NAME, "own name, unique among its like"), "mass": _MASS}
_MARK: Final = Key(
    MarkText(),
    "its mark on the drawing's schedule, unique in the house: W1, D1, 101A; numbered where left out",
)
_MARKS: Final = {
    "mark": _MARK,
    "marks": Key(
        ListOf(MarkText(), 1, 2000, "marks"), "marks of a row, one for each place in the order of the places"
    ),
}

PARAPET: Final = Table(
    "a parapet",
    {
        "height": Key(Quantity("parapet height"), "above the roof plane", required=True),
        "thickness": Key(
            Quantity("parapet thickness", SECTION_BARE),
            "of the parapet without cladding",
            required=True,
        ),
    },
)
ROOF: Final = Table(
    "a roof",
    {
        "form": Key(
            Word(("flat", "shed", "gable", "hip", "other")),
            "flat, shed, gable or hip; other where the barrier runs at the ceiling",
            required=True,
        ),
        "pitch": Key(Pitch(), "slope of the planes: 6:12, 6/12 or 30 deg (not for flat roofs)"),
        "ridge": Key(
            Bearing(axis=True),
            "direction of a gable or hip ridge: east-west, north-south, 30 deg, or a side it runs along",
        ),
        "falls": Key(Bearing(axis=False), "direction a shed roof falls towards: south, 30 deg, or a side"),
        "parapet": Key(PARAPET, "parapet all round a flat roof"),
    },
)
_BOTTOM_WORDS: Final = Word(("slab", "crawl space", "basement", "outside air", "on mass"))
_BOTTOM_DOC: Final = (
    "where the barrier runs at the bottom: slab, crawl space (its floor), basement (down its walls), "
    "outside air (floor over air), on mass (a dormer or upper part that stands on another mass)"
)
BOTTOM: Final = Table(
    "a bottom",
    {
        "kind": Key(_BOTTOM_WORDS, _BOTTOM_DOC, required=True),
        "level": Key(
            LEVEL,
            "height of the hull's bottom: slab underside that the layer covers, crawl-space floor, basement floor; "
            "needed for crawl space and basement",
        ),
    },
    compared=("level",),
)
_BOTTOM: Final = Either(scalar=_BOTTOM_WORDS, table=BOTTOM)
_TOP: Final = Word(("roof deck", "ceiling"))
_TOP_DOC: Final = "where the barrier runs at the top: roof deck, or ceiling (under a vented attic)"
STOREY: Final = Table(
    "a storey",
    {
        "name": Key(NAME, "own name"),
        "height": Key(
            Quantity("story height"),
            "floor to floor; the top storey to the wall top",
            required=True,
        ),
    },
)
_HEIGHT: Final = Quantity("story height")

MASS: Final = Table(
    "a mass",
    {
        "name": Key(NAME, "own name, unique in the house", required=True),
        "size": Key(
            ListOf(_EXTENT, 2, 2, "numbers: [east-west, north-south]"), "rectangle: [east-west, north-south]"
        ),
        "at": Key(_PAIR, "south-west corner of the rectangle in plan: [east, north]; [0, 0] where left out"),
        "outline": Key(
            ListOf(_PAIR, 3, 2000, "corners"),
            "instead of size: corners of the plan polygon, either way round",
        ),
        "base": Key(
            LEVEL,
            "top of the slab or foundation wall, on which the sill plate lies; heights of the lowest storey are counted from it",
            default=LEVEL_ZERO,
        ),
        "storeys": Key(
            ListOf(Either(scalar=_HEIGHT, table=STOREY), 1, 200, "storeys"),
            "heights from the bottom up, floor to floor, the top one to the wall top",
            required=True,
        ),
        "roof": Key(
            Either(scalar=Word(("flat",)), table=ROOF),
            "its roof; where top is ceiling any form over any plan",
            required=True,
        ),
        "inside": Key(
            YesNo(), "inside the hull; no for a cold garage or porch", default=Default("yes", COMMON)
        ),
        "top": Key(_TOP, f"{_TOP_DOC}; instead of barrier.top for this mass"),
        "bottom": Key(_BOTTOM, f"{_BOTTOM_DOC}; instead of barrier.bottom for this mass"),
        "ground": Key(LEVEL, "height of the ground at this mass; instead of the file's ground"),
        "framing": Key(
            Word(("shared", "own")),
            "shared: one framing with the bodies beside it; own: framed by itself (an addition on its own foundation, "
            "a row house): panels break where its walls run on flush into another body's, and joints between them move",
            default=Default("shared", COMMON),
        ),
    },
)
BARRIER: Final = Table("the barrier", {"top": Key(_TOP, _TOP_DOC), "bottom": Key(_BOTTOM, _BOTTOM_DOC)})
NEIGHBOUR: Final = Table(
    "a neighbour wall",
    {
        "kind": Key(
            Word(("party wall", "garage wall", "shaft")), "party wall, garage wall or shaft", required=True
        ),
        "mass": _MASS,
        "side": Key(_SIDE, _SIDE_DOC, required=True),
        "storeys": Key(ListOf(_STOREY, 1, 200, "storeys"), "storeys it spans; all where left out"),
        "rated": Key(
            YesNo(), "fire-resistance rated: then only listed systems are used there", required=True
        ),
    },
)
EAVE: Final = Table(
    "framing through the layer",
    {
        "kind": Key(
            Word(("rafter tails", "lookouts", "ridge beams")),
            "rafter tails, lookouts or ridge beams",
            required=True,
        ),
        "mass": _MASS,
        "side": Key(_SIDE, _SIDE_DOC),
        "sides": Key(ListOf(_SIDE, 1, 50, "sides"), "several sides instead of one"),
        "section": Key(
            _section(_TIMBER), "section: 2x6 (nominal), 45x145 (mm), or [width, depth]", required=True
        ),
        "spacing": Key(Quantity("spacing of tails", SECTION_BARE), "on centre; or state count"),
        "count": Key(Number("count of pieces"), "pieces on each side; or state spacing"),
    },
    compared=("spacing",),
)
UNIT_LEAKAGE: Final = Rate(
    "unit leakage", {"cfm/ft2": CFM / FOOT**2 * 1000, "l/sm2": 1.0, "l/s/m2": 1.0, "m3/hm2": 1 / 3.6, "m3/h/m2": 1 / 3.6}, ("cfm/ft2", "l/sm2")
)  # fmt: skip
_OFFSET: Final = Quantity("distance along a side")
_COUNT: Final = Number("count of pieces")
OPENING: Final = Table(
    "an opening",
    {
        **_WHERE,
        **_MARKS,
        "side": Key(
            _SIDE, f"{_SIDE_DOC}; for a skylight the side its roof plane falls towards", required=True
        ),
        "storey": _STOREY_KEY,
        "kind": Key(Word(OpeningKind.__args__), ", ".join(OpeningKind.__args__), required=True),  # type: ignore[attr-defined]
        "size": Key(
            ListOf(_SIZE, 2, 2, "numbers: [width, height]"), "rough opening: [width, height]", required=True
        ),
        "sill": Key(
            Quantity("sill height"),
            "sill above the storey's floor (skylight: up the slope from the eave); doors stand on the floor where left out",
        ),
        "head": Key(
            Quantity("head height"),
            "head above the storey's floor, instead of sill",
        ),
        "at": Key(
            Either(scalar=_OFFSET, list=ListOf(_OFFSET, 1, 500, "distances")),
            "from the left end of the side, seen from outside, to the left edge of the opening; a list for several alike",
        ),
        "center": Key(
            Either(scalar=_OFFSET, list=ListOf(_OFFSET, 1, 500, "distances")),
            "instead of at: from the left end of the side to the middle of the opening",
        ),
        "count": Key(_COUNT, "instead of at: so many, evenly spaced along the side"),
        "frame": Key(Word(("vinyl flange", "metal", "wood")), "what the layer is joined to", default=FRAME),
        "leakage": Key(UNIT_LEAKAGE, "rated leakage of the unit at 75 Pa: 0.3 cfm/ft2 or 1.5 L/(s m2)"),
    },
    compared=("size",),
)
_XY: Final = ListOf(Quantity("place on a face"), 2, 2, "numbers: [x, y]")
PENETRATION: Final = Table(
    "a penetration",
    {
        **_WHERE,
        **_MARKS,
        "through": Key(
            Text("a side, `roof` and a side, bottom, or ceiling", most=60),
            "what it passes: a side of the mass (south), a roof plane (`roof south`), bottom, or ceiling",
            required=True,
        ),
        "storey": _STOREY_KEY,
        "kind": Key(Word(PenetrationKind.__args__), ", ".join(PenetrationKind.__args__), required=True),  # type: ignore[attr-defined]
        "diameter": Key(_PIECE, "outside diameter of a round thing (a cable group: of the bundle)"),
        "size": Key(_section(_PIECE), "section of any other: [width, depth]"),
        "at": Key(
            ListOf(_XY, 1, 2000, "places: [[x, y], ...]"),
            "places: [from the left end seen from outside, above the storey's floor or up the slope]; "
            "bottom and ceiling: [east, north] in plan",
        ),
        "count": Key(_COUNT, "instead of at: so many, evenly spaced over the free part of the face"),
        "height": Key(
            Quantity("height above the floor"),
            "with count: above the storey's floor, or up the slope from the eave",
        ),
        "rigid": Key(YesNo(), "no for what moves: cable, hose, vibrating duct"),
        "stage": Key(
            Word(("sheathing", "openings", "services", "later")),
            "when it comes: with the sheathing, with the openings, with the services, later",
        ),
        "clearance": Key(
            Quantity("clearance", SECTION_BARE),
            "least distance of combustible material from a flue or chimney, by its listing or local code",
        ),
    },
)
LATER: Final = Table(
    "a thing fixed later",
    {
        **_WHERE,
        "mark": _MARK,
        "kind": Key(
            Word(("ledger", "porch roof", "meter base", "mounting block", "strap")),
            "ledger, porch roof, meter base, mounting block or strap",
            required=True,
        ),
        "side": Key(_SIDE, _SIDE_DOC, required=True),
        "storey": _STOREY_KEY,
        "at": Key(
            _OFFSET, "from the left end of the side, seen from outside, to its left end", required=True
        ),
        "width": Key(Quantity("attachment width"), "along the side", required=True),
        "top": Key(Quantity("attachment top"), "its top above the storey's floor", required=True),
        "depth": Key(Quantity("attachment depth"), "its own height", required=True),
    },
    compared=("depth",),
)
CEILING: Final = Table(
    "the ceiling",
    {
        "partition_plates": Key(
            Quantity("length of plates"), "length of partition top plates under it", required=True
        )
    },
)
