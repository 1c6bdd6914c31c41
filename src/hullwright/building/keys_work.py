"""Keys of the building file beside the house itself: layer, surfaces, build-up, site, crew, money, aim; and the whole file."""

from __future__ import annotations

from typing import Final

from hullwright.building import defaults as d
from hullwright.building.beside import ENDINGS, FileName
from hullwright.building.figure_numbers import FigureNumber
from hullwright.building.keys import (
    BARRIER,
    CEILING,
    EAVE,
    LATER,
    LEVEL,
    MASS,
    NAME,
    NEIGHBOUR,
    OPENING,
    PENETRATION,
    SECTION_BARE,
)
from hullwright.building.kinds import Number, Share, Text, Word, YesNo
from hullwright.building.loose import Loose
from hullwright.building.measures import Quantity, Rate
from hullwright.building.spec import Either, Key, Kind, ListOf, MapOf, Schema, Table
from hullwright.units import CFM

GROUPS: Final = ("wall", "roof", "floor", "ceiling")
_BARE: Final = SECTION_BARE
_OVERDRIVEN: Final[Kind] = Either(
    scalar=Share("overdriven share"),
    table=Table(
        "the share driven too deep",
        {
            "found": Key(Share("overdriven share"), "counted on this job"),
            "expected": Key(Share("overdriven share"), "expected"),
        },
    ),
)
_NAILS: Final = Table(
    "the nails",
    {
        "edge": Key(
            Quantity("nail spacing", _BARE),
            "spacing along panel edges",
            default=d.NAIL_EDGE,
        ),
        "field": Key(Quantity("nail spacing", _BARE), "spacing in the field", default=d.NAIL_FIELD),
        "overdriven": Key(
            _OVERDRIVEN,
            "share driven too deep: 20 %, or {found: 12 %} or {expected: 20 %}",
            default=d.OVERDRIVEN,
        ),
    },
    compared=("edge",),
)


SUBSTRATES: Final = (
    "coated panel",
    "wood panel",
    "plywood",
    "gypsum panel",
    "gypsum board",
    "wood",
    "concrete",
    "concrete block",
    "metal",
)
METHODS: Final = (
    "tape",
    "stretch",
    "liquid",
    "sealant",
    "gasket",
    "boot",
    "coat",
    "listed",
    "flue_collar",
    "weatherstrip",
    "cover",
    "cut_tails",
    "unsealed",
)


def _sheathing(group: str) -> Table:
    framing = d.WALL_FRAMING if group == "wall" else d.ROOF_FRAMING
    panel = Quantity("panel size")
    offcut = Quantity("offcut", _BARE)
    keys = {
        "substrate": Key(
            Word(SUBSTRATES), "what the layer is: " + ", ".join(SUBSTRATES), default=d.SUBSTRATE[group]
        ),
        "panel_width": Key(panel, "short side of a panel", default=d.PANEL_WIDTH),
        "panel_length": Key(panel, "long side of a panel", default=d.PANEL_LENGTH),
        "lay": Key(
            Word(("level", "upright")), "long side level (across the framing) or upright", default=d.LAY
        ),
        "gap": Key(Quantity("panel gap", _BARE), "gap between panels", default=d.PANEL_GAP),
        "stagger": Key(Quantity("stagger"), "shift of every other row", default=d.STAGGER),
        "framing": Key(Quantity("framing spacing", _BARE), "framing on centre", default=framing),
        "blocking": Key(
            YesNo(), "panel edges between the framing are backed by blocking", default=d.BLOCKING
        ),
        "least_offcut": Key(offcut, "narrowest strip that is still cut", default=d.LEAST_OFFCUT),
        "nails": Key(_NAILS, "schedule of nails or screws, and the share driven too deep"),
    }
    return Table(f"the {group} sheathing", keys, compared=("stagger", "framing", "least_offcut"))


NAILS: Final = _NAILS
SHEATHING: Final = {group: _sheathing(group) for group in GROUPS}
_SHEATHING: Final = Table(
    "the sheathing", {group: Key(table, f"sheathing of {group} faces") for group, table in SHEATHING.items()}
)
_STATE: Final = Word(("clean", "dusty", "damp", "rough"))
_SURFACES: Final = MapOf(Either(scalar=_STATE, list=ListOf(_STATE, 1, 4, "states")), "faces")
_THICKNESS: Final = Quantity("build-up", _BARE)
BUILD_UP: Final = Table(
    "the build-up",
    {
        **{
            group: Key(
                _THICKNESS, f"thickness of a {group} from the layer to the room", default=d.BUILD_UP[group]
            )
            for group in GROUPS
        },
        "inner_volume": Key(
            Quantity("inner volume", "ft3|m3"),
            "volume of air inside; worked out from the thicknesses where left out",
        ),
        "floor_area": Key(
            Quantity("floor area", "ft2|m2"),
            "floor area inside",
        ),
        "inside_vapour_class": Key(Number("vapor class"), "class of the vapour retarder inside: 1, 2 or 3"),
    },
    compared=("inner_volume", "floor_area"),
)
SITE: Final = Table(
    "the site",
    {
        "bare_days": Key(Number("days exposed"), "days from sheathing to covering", default=d.BARE_DAYS),
        "monthly_rain": Key(
            Quantity("monthly rain", "in|mm"),
            "rain in a month of the bare time",
            default=d.MONTHLY_RAIN,
        ),
        "north": Key(
            Quantity("bearing", "deg|deg"),
            "bearing of plan north, clockwise from true north",
            default=d.NORTH,
        ),
    },
)
METHODS_BEFORE: Final = {"bare": "unsealed"}
"""Method key of before to today's: files and records of then are read."""
_METHOD: Final = Word(METHODS, also=METHODS_BEFORE)
_NONE: Final = "no limit where left out"
_SET_UP: Final = Table(
    "a set-up",
    {
        "money": Key(Number("setup money"), "tips, primer, ladder: money on each face and visit"),
        "hours": Key(Number("setup hours"), "hours on each face and visit"),
    },
    compared=("hours",),
)
_CREW_FILM: Final = Table(
    "how the crew lays a film",
    {
        "spread": Key(
            Quantity("film spread", "mil|um"),
            "spread of the wet film along a lot (one standard deviation), from a mock-up or `film lots`; an estimate, marked, where left out",
        ),
        "gauge": Key(
            Quantity("gauge step", "mil|um"),
            "step of the crew's gauge at such films; that of a usual gauge where left out",
        ),
        "readings": Key(
            Number("count of readings"),
            "readings of a lot; chosen with the aim for the least money where left out",
        ),
        "pooled": Key(
            Number("degrees of freedom"),
            "only where `film lots` calls the spread stable: degrees of freedom behind it, as printed there; lots are then judged by the spread of all",
        ),
    },
)
CREW: Final = Table(
    "the crew",
    {
        "people": Key(Number("people"), "how many seal", default=d.PEOPLE),
        "rate": Key(Number("pay"), "money an hour and person", default=d.RATE),
        "hours": Key(Number("hours for sealing"), f"most hours there are for sealing, {_NONE}"),
        "day": Key(Number("hours a day"), "working hours a day", default=d.DAY),
        "practised": Key(ListOf(_METHOD, 0, 50, "methods"), "methods the crew has done before"),
        "film": Key(
            MapOf(_CREW_FILM, "films by product, or `any`"),
            "by product id, or for `any`: how the crew lays and reads a film; with it aim and readings are chosen",
        ),
        "set_up": Key(
            MapOf(_SET_UP, "set-ups by method"),
            "by method: money and hours to set up on each face and visit; starting figures where left out",
        ),
    },
)
_NON_NEGATIVE: Final = Number("weight")
_WEIGHTS: Final = Table(
    "the weights",
    {
        "air": Key(_NON_NEGATIVE, "weight of air leakage", default=d.WEIGHT),
        "water": Key(_NON_NEGATIVE, "weight of water", default=d.WEIGHT),
    },
)
FIXED: Final = Table(
    "a fixed decision",
    {
        "method": Key(_METHOD, "method to use: " + ", ".join(METHODS), required=True),
        "product": Key(Text("a product"), "product to use, any where left out"),
        "primer": Key(
            Text("a product"), "primer under it, none for without; as the plan finds best where left out"
        ),
        "filler": Key(
            Text("a product"),
            "what fills the gap first, none for without; as the plan finds best where left out",
        ),
        "face": Key(Text("a face"), "face as printed by `check`, such as main/south; all where left out"),
        "kind": Key(Text("a joint kind"), "joint kind as printed by `joints`; all where left out"),
        "run": Key(Text("a run"), "run as printed by `joints`; all where left out"),
    },
)
_MONEY: Final = Number("money")
AIM: Final = Table(
    "the aim",
    {
        "budget": Key(_MONEY, f"most money, {_NONE}"),
        "target": Key(Number("air changes"), "air changes an hour at 50 Pa to reach"),
        "confidence": Key(Share("chance"), "with which the target must be reached", default=d.CONFIDENCE),
        "weights": Key(_WEIGHTS, "weights of air and water in budget mode"),
        "air_target": Key(
            Number("air changes"),
            "ACH50 that counts as 1 in the goal",
            default=d.AIR_TARGET,
        ),
        "water_limit": Key(
            Quantity("water limit", "gal|L"),
            "water that counts as 1 in the goal; 10 L scaled with the roof where left out",
        ),
        "most_products": Key(Number("count of products"), f"most different products, {_NONE}"),
        "most_unknown_meetings": Key(
            Number("count of transitions"), f"most meetings of untested pairs, {_NONE}"
        ),
        "worst_piece": Key(
            Quantity("leakage area", "in2|cm2"),
            f"most expected leakage of a single piece, {_NONE}",
        ),
        "fixed": Key(ListOf(FIXED, 0, 5000, "decisions"), "decisions already made"),
    },
)
_FLOW: Final = Rate("leakage at 50 Pa", {"m3/h": 1.0, "cfm": CFM * 3600, "l/s": 3.6}, ("cfm", "m3/h"))
_FIGURE: Final = Table(
    "a figure",
    {
        "value": Key(FigureNumber(), "the number", required=True),
        "unit": Key(Text("a unit", most=40), "its unit"),
        "source": Key(Text("a source"), "where it comes from"),
        "measured": Key(YesNo(), "measured on this job"),
        "spread": Key(Number("spread factor"), "geometric standard deviation"),
    },
)
PHOTOS: Final = Table(
    "the plan of photos",
    {
        "face": Key(Number("photos"), "of each face; 1 where left out"),
        "opening": Key(Number("photos"), "of each opening, with corners and pan; 1 where left out"),
        "penetrations": Key(Number("photos"), "of each group of penetrations; 1 where left out"),
        "tails": Key(Number("photos"), "of each row of tails; 1 where left out"),
    },
)
UNITS: Final = Word(("ft", "in", "m", "mm"), {"feet": "ft", "inches": "in", "metres": "m", "meters": "m"})
SYSTEM: Final = Word(("us", "metric"))
_NO_EAVES: Final = Word(("none",))
_SHEET_FILE: Final = FileName(
    "a product sheet: neither a table of keys nor the name of a file",
    "a table of keys, or a file that ends in .yaml",
    ENDINGS,
)
_EXPERIENCE: Final = FileName(
    "an experience file", "a file that ends in .json, as `hullwright experience` writes it", (".json",)
)
FILE: Final = Table(
    "a building file",
    {
        "units": Key(UNITS, "unit of bare lengths: ft, in, m or mm", required=True),
        "system": Key(SYSTEM, "units to print in: us or metric; follows units where left out"),
        "name": Key(NAME, "name of the house", required=True),
        "ground": Key(LEVEL, "height of the ground round the house", default=d.LEVEL_ZERO),
        "barrier": Key(
            BARRIER, "where the barrier runs at top and bottom, for every mass that does not say itself"
        ),
        "masses": Key(
            ListOf(MASS, 1, 2000, "masses"), "the bodies of the house, dormers and wings too", required=True
        ),
        "neighbours": Key(ListOf(NEIGHBOUR, 0, 2000, "walls"), "party, garage and shaft walls"),
        "eaves": Key(
            Either(scalar=_NO_EAVES, list=ListOf(EAVE, 0, 2000, "eaves")),
            "framing through the layer, or none",
            default=d.EAVES,
        ),
        "openings": Key(ListOf(OPENING), "windows, doors, garage doors, skylights"),
        "penetrations": Key(
            ListOf(PENETRATION), "pipes, ducts, boxes, cables and all else that passes the layer"
        ),
        "later": Key(ListOf(LATER), "things fixed over the layer later"),
        "ceiling": Key(CEILING, "what crosses the barrier where it runs at the ceiling"),
        "sheathing": Key(_SHEATHING, "what the layer is made of, by wall, roof, floor, ceiling"),
        "surfaces": Key(
            _SURFACES,
            "state of the surface (clean, dusty, damp, rough) by wall, roof, floor, ceiling, foundation, mass or mass/side; "
            "the most exact wins; clean where left out",
        ),
        "build_up": Key(BUILD_UP, "thickness from the layer to the room, or the inner volume"),
        "site": Key(SITE, "bare days, rain, north"),
        "crew": Key(CREW, "who seals, at what rate"),
        "photos": Key(PHOTOS, "how many photos prove what; `ready` asks for what it says"),
        "currency": Key(Text("a currency", most=8), "currency of all money", default=d.CURRENCY),
        "prices": Key(MapOf(Number("price"), "prices by product"), "money a pack, by product id"),
        "stock": Key(MapOf(Number("packs"), "packs by product"), "packs at hand, by product id"),
        "products": Key(
            ListOf(Either(scalar=_SHEET_FILE, table=Loose("a product sheet")), 0, 500, "product sheets"),
            "own product sheets, written here or as names of files with one sheet each",
        ),
        "use": Key(
            Word(("any", "mine")),
            "mine: no invented product is offered, even where you state none of that form; any where left out",
        ),
        "products_folder": Key(
            FileName("a folder"), "folder with one own product sheet in each file that ends in .yaml"
        ),
        "experience": Key(
            Either(scalar=_EXPERIENCE, list=ListOf(_EXPERIENCE, 1, 100, "experience files")),
            "what earlier houses taught: a file that `hullwright experience` wrote, or several; "
            "its figures take the place of starting figures",
        ),
        "other_leakage": Key(
            MapOf(_FLOW, "leakages by name"), "leakage at 50 Pa that no sealing changes: 30 cfm, 50 m3/h"
        ),
        "aim": Key(AIM, "budget or target, weights, limits, decisions already made"),
        "figures": Key(
            MapOf(Either(scalar=FigureNumber(), table=_FIGURE), "figures by name"),
            "own figures instead of starting figures",
        ),
    },
)


def schema() -> Schema:
    """Give the JSON Schema of the building file, made from the keys that the reader itself uses.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.

    Examples
    --------
    >>> schema()["required"]
    ['units', 'name', 'masses']
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "hullwright building file",
        **FILE.schema(),
    }
