"""Invented houses from a seed: a box, with a bay, a dormer, a garage, and what passes the layer, as building files.

With `own` a story may stand on the other as a body of its own, and the house has products, prices and stock of its own.
"""

from __future__ import annotations

import random

import yaml


def house(seed: int, *, own: bool = False) -> str:
    """A building file."""
    told = _told(random.Random(seed), seed)
    if own:
        pick = random.Random(f"own {seed}")
        if len(told["masses"][0]["storeys"]) == 2 and pick.random() < 0.7:
            _stack(pick, told)
        told |= _products(pick, told)
    return yaml.safe_dump(told, sort_keys=False)


def _stack(pick: random.Random, told: dict) -> None:
    """Make the upper story a body of its own, set back or not."""
    main, *others = told["masses"]
    low, high = main["storeys"]
    width, depth = main["size"]
    back = pick.choice([0, 0, 2, 4])
    upper = main | {"name": "upper", "storeys": [high], "base": round(8 / 12 + low, 6), "bottom": "on mass"}
    upper |= {"size": [width - back, depth - back], "at": [0, back]}
    told["masses"] = [main | {"storeys": [low], "roof": "flat"}, upper, *others]
    for one in [*told["penetrations"], *told.get("eaves", [])]:
        if str(one.get("through", "roof")).startswith("roof"):
            one["mass"] = "upper"
        if one["mass"] == "upper" and "at" in one:
            one["at"] = [[(width - back) / 2, 3]]


def _products(pick: random.Random, told: dict) -> dict:
    """Own tape and own liquid, prices to the cent for some of the invented ones, packs in stock."""
    tape = {
        "id": "own-tape",
        "form": "tape",
        "chemistry": "acrylic tape",
        "width": f"{pick.choice([3, 4, 6])} in",
    }
    tape |= {"pack": f"{pick.choice([50, 75, 100])} ft", "gap_direct": "1/4 in", "gap_filled": "1/2 in"}
    liquid = {
        "id": "own-liquid",
        "form": "liquid",
        "chemistry": "silyl",
        "solids": pick.choice([0.6, 0.95, 1]),
    }
    liquid |= {"pack": pick.choice(["20 floz", "600 mL", "1 gal", "29 floz"]), "least": "10 mil"}
    liquid |= {"aim": "14 mil", "greatest": "30 mil", "width": "2 in", "waste": pick.choice([0, 0.1])}
    liquid |= {"gap_direct": "1/16 in", "gap_filled": "1/2 in"}
    for one, low, high in ((tape, 12, 60), (liquid, 12, 90)):
        one["price"] = round(pick.uniform(low, high), 2)
    found = {"products": pick.choice([[tape], [liquid], [tape, liquid]])}
    invented = ["acrylic-seam-tape", "silyl-flashing-20", "hybrid-sealant-20", "stretch-flashing-tape"]
    priced = pick.sample(invented, pick.choice([0, 1, 2]))
    if priced:
        found["prices"] = {name: round(pick.uniform(9, 90), 2) for name in priced}
    owned = pick.sample([*invented, *(one["id"] for one in found["products"])], pick.choice([0, 0, 1, 2]))
    if owned:
        found["stock"] = told.get("stock", {}) | {name: pick.choice([1, 2, 5]) for name in owned}
    return found


def _told(pick: random.Random, seed: int) -> dict:
    size = pick.choice([24, 28, 30, 32, 36, 40]), pick.choice([20, 22, 24, 26, 28])
    rise, form = pick.choice([4, 6, 8, 10]), pick.choice(["gable", "gable", "hip", "flat", "shed"])
    storeys = pick.choice([[9], [9], [10, 8], [9.09375, 8]])
    top = pick.choice(["roof deck", "roof deck", "ceiling"])
    bottom = pick.choice(
        [{"kind": "slab", "level": 0}, {"kind": "slab"}, {"kind": "crawl space", "level": -2}]
    )
    told = {"units": "ft", "name": f"House {seed}", "barrier": {"top": top, "bottom": bottom}}
    if top == "ceiling":
        told["ceiling"] = {"partition_plates": 60}
    roof = {
        "gable": {"form": "gable", "pitch": f"{rise}:12", "ridge": "east-west"},
        "hip": {"form": "hip", "pitch": f"{rise}:12"},
        "flat": "flat",
        "shed": {"form": "shed", "pitch": "2:12", "falls": "south"},
    }[form]
    told["masses"] = [
        {"name": "main", "size": list(size), "base": "8 in", "storeys": storeys, "roof": roof},
        *_beside(pick, size, sum(storeys), rise if form == "gable" and top == "roof deck" else 0),
    ]
    told["openings"] = _openings(pick, size)
    told["penetrations"] = _passing(pick, size)
    if top == "roof deck" and form in {"gable", "hip"}:
        if pick.random() < 0.7:
            stack = {
                "mass": "main",
                "through": "roof north",
                "kind": "pipe",
                "diameter": 4.5,
                "at": [[size[0] / 2, 3]],
            }
            told["penetrations"].append(stack)
        if pick.random() < 0.4:
            told["eaves"] = [
                {
                    "mass": "main",
                    "sides": ["north"],
                    "kind": "rafter tails",
                    "section": "2x6",
                    "spacing": "24 in",
                }
            ]
    return told | _work(pick)


def _beside(pick: random.Random, size: tuple[int, int], wall: float, rise: int) -> list[dict]:
    width, depth = size
    found = []
    if pick.random() < 0.7:
        long, left, out = pick.choice([6, 7, 8, 10]), pick.choice([3, 5, 8]), pick.choice([2, 2.5, 3])
        into = pick.choice([0, 2])
        bay = {"name": "bay", "base": "8 in", "storeys": [pick.choice([7, 7.5, 8])]}
        if pick.random() < 0.5:
            bay |= {"size": [long, out + into], "at": [left, -out]}
            bay |= {"roof": pick.choice(["flat", {"form": "shed", "pitch": "2:12", "falls": "south"}])}
        else:
            cut = out if long > 2 * out else 1
            line = [[left, 0], [left + cut, -out], [left + long - cut, -out], [left + long, 0]]
            back = [[left, into], *line, [left + long, into]]
            bay |= {"outline": back if into else line, "roof": "flat"}
        found.append(bay)
    if pick.random() < 0.4:
        roof = pick.choice(["flat", {"form": "gable", "pitch": "4:12", "ridge": "east-west"}])
        found.append(
            {
                "name": "garage",
                "inside": False,
                "size": [pick.choice([12, 20, 22]), pick.choice([18, depth - 2])],
                "at": [width, 1],
                "base": "4 in",
                "storeys": [8],
                "roof": roof,
            }
        )
    if rise >= 6 and pick.random() < 0.5:
        found.append(
            {
                "name": "dormer",
                "size": [8, depth / 2 - 5],
                "at": [width / 2 - 4, 4],
                "base": round(8 / 12 + wall + 4 * rise / 12 - 1, 4),
                "storeys": [4.5],
                "bottom": "on mass",
                "roof": {"form": "shed", "pitch": "2:12", "falls": "south"},
            }
        )
    return found


def _openings(pick: random.Random, size: tuple[int, int]) -> list[dict]:
    north = {"mass": "main", "side": "north", "storey": 1}
    found = [
        north
        | {
            "kind": "window",
            "size": [pick.choice([2.5, 3, 4]), pick.choice([3, 4])],
            "head": "6'-10\"",
            "at": pick.choice([[4], [4, 10], [1, 6, 11]]),
        },
        north
        | {
            "kind": "door",
            "size": [3, "6'-10\""],
            "at": size[0] - 4.5,
            "frame": pick.choice(["wood", "metal", "vinyl flange"]),
        },
    ]
    if pick.random() < 0.6:
        west = {"mass": "main", "side": "west", "storey": 1, "kind": "window", "size": [3, 4]}
        found.append(west | {"head": "6'-10\"", "at": pick.choice([2, 5, 9])})
    return found


def _passing(pick: random.Random, size: tuple[int, int]) -> list[dict]:
    wall = {"mass": "main", "storey": 1}
    found = [
        wall | {"through": "west", "kind": "box", "size": [4, 4], "count": pick.choice([1, 2, 3])},
        wall
        | {
            "through": "north",
            "kind": pick.choice(["pipe", "duct"]),
            "diameter": pick.choice([1.05, 2.375, 4, 6]),
            "at": [[1, 8]],
        },
        {
            "mass": "main",
            "through": "bottom",
            "kind": "pipe",
            "diameter": 4.5,
            "at": [[size[0] / 2, size[1] / 2]],
        },
    ]
    if pick.random() < 0.5:
        found.append(
            wall | {"through": "west", "kind": "cable group", "diameter": 2, "at": [[size[1] - 2, 4]]}
        )
    return found


def _work(pick: random.Random) -> dict:
    told = {}
    if pick.random() < 0.5:
        told["surfaces"] = {
            "wall": pick.choice(["clean", "dusty", "damp"]),
            "roof": pick.choice(["clean", "dusty"]),
            "foundation": "dusty",
        }
    crew = {"people": 2, "rate": pick.choice([42, 50, 62]), "day": 8}
    if pick.random() < 0.3:
        crew["practised"] = [pick.choice(["tape", "liquid"])]
    if pick.random() < 0.15:
        crew["hours"] = 200
    told["crew"] = crew
    told["site"] = {
        "bare_days": pick.choice([20, 30, 45]),
        "monthly_rain": pick.choice(["2 in", "3.5 in"]),
    }
    aim = {"confidence": "90 %"}
    if pick.random() < 0.2:
        aim["most_products"] = pick.choice([4, 5, 6])
    if pick.random() < 0.2:
        aim["most_unknown_meetings"] = pick.choice([0, 2, 5])
    told["aim"] = aim
    if pick.random() < 0.15:
        told["stock"] = {"acrylic-seam-tape": 2}
    return told
