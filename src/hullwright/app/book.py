"""The book of a house: the folder of its plan, the continuity report and the record, in one zip file."""

from __future__ import annotations

import io
import json
import tempfile
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from hullwright.app import proof
from hullwright.app.folder import contents
from hullwright.app.heads import head
from hullwright.app.house import Check, House, check
from hullwright.app.issue import issued
from hullwright.app.log import Log
from hullwright.app.plan import Planned, Wish, order, plan
from hullwright.app.state_picture import state_picture
from hullwright.choice.making import CURVE_POINTS
from hullwright.report.page import Listing, Page, Picture, Sum, page
from hullwright.report.sheets import Row, csv_text
from hullwright.store.place import Place
from hullwright.units import FOOT, Show

Step = Callable[[int, int, str], None]
WORKS: Final = ("the plan", "its folder", "states", "faces", "the record")
_DATE: Final = (2000, 1, 1, 0, 0, 0)
"""One date for all files: the same house and log give the same bytes."""


@dataclass(frozen=True, slots=True)
class Of:
    """Whose log.

    Parameters
    ----------
    house : str
        Name in the log.
    store : Path or Address
    """

    house: str
    store: Place


@dataclass(frozen=True, slots=True)
class Book:
    """The book.

    Parameters
    ----------
    content : bytes
        Zip file.
    files : tuple of str
    """

    content: bytes
    files: tuple[str, ...]

    @property
    def steps(self) -> int:
        """Steps that the work is told in."""
        return len(WORKS) + 1

    def to_json(self) -> dict[str, Any]:
        """Say what is in it."""
        return head("book") | {"files": list(self.files), "bytes": len(self.content), "cautions": []}


def book(house: House, wish: Wish, of: Of, step: Step) -> Book:
    """Write the book of a house.

    Parameters
    ----------
    house : House
    wish : Wish
        What the plan is asked for.
    of : Of
        Whose log.
    step : callable
        Told (done, of, what comes) before each part; what it raises ends the work.

    Returns
    -------
    Book
    """
    steps = len(WORKS) + 1
    step(0, steps, WORKS[0])
    planned = plan(house, wish, curve_points=CURVE_POINTS)
    step(1, steps, WORKS[1])
    files = {f"plan/{name}": content for name, content in contents(planned, order(planned)).items()}
    step(2, steps, WORKS[2])
    files |= record(planned, Log(of.house, of.store), lambda done: step(2 + done, steps, WORKS[2 + done]))
    return Book(_zip(files), tuple(files))


def record(planned: Planned, log: Log, step: Callable[[int], None]) -> dict[str, bytes]:
    """Write what the log says, and the continuity report.

    Parameters
    ----------
    planned : Planned
    log : Log
    step : callable
        Told the number of parts that are done.

    Returns
    -------
    dict of str to bytes
        Files by name.
    """
    house = planned.house
    with tempfile.TemporaryDirectory(prefix="hullwright-") as folder:
        file = Path(folder) / "plan.json"
        file.write_text(json.dumps(planned.to_json()), encoding="utf-8")
        states = proof.states(log, house, plan=str(file))
        picture = state_picture(house, states)
        step(1)
        faces = [proof.ready(log, house, face.id, plan=str(file)) for face in house.hull.faces]
    step(2)
    lots, holes, closed = proof.lots(log, house), proof.holes(log), check(house)
    patches = [patch.to_json() for patch in states.patches]
    drawn = [one.to_json() for one in issued(log)]
    shown: dict[str, Table] = {
        "continuity": _continuity(closed),
        "faces": _faces(faces),
        "lots": _lots(lots),
        "holes": _holes(holes),
        "drawings": _drawings(drawn),
        "patches": _patches(patches, {one.joint: one.state.value for one in states.joints}),
        "states": (
            ("joint", "state", "missing"),
            [(one.joint, one.state.value, "; ".join(one.missing)) for one in states.joints],
        ),
    }
    counts = states.to_json()["counts"]
    told = {
        "states": states.to_json(), "lots": lots.to_json(), "holes": holes.to_json(), "check": closed.to_json(),
        "faces": [one.to_json() for one in faces], "drawings": drawn,
    }  # fmt: skip
    for part in told.values():
        if isinstance(part, dict):
            part.pop("store", None)  # where it lies on this machine is nobody's business
    text = json.dumps(told, ensure_ascii=False, indent=1)
    out = {f"record/{name}.csv": csv_text(heads, rows) for name, (heads, rows) in shown.items()}
    out["record/states.svg"] = picture.encode()
    out["record/record.json"] = text.encode()
    out["record/record.html"] = _page(house, closed, counts, shown, picture).encode()
    return out


Table = tuple[tuple[str, ...], list[Row]]


def _continuity(found: Check) -> Table:
    far = FOOT if found.house.building.system == "us" else 1.0
    unit = "ft" if far != 1.0 else "m"
    heads = ("face", f"open length [{unit}]", f"from x, y, z [{unit}]", f"to x, y, z [{unit}]", "note")
    rows: list[Row] = [
        (one.face, one.length / far, _at(one.start / far), _at(one.end / far), one.note)
        for one in found.places
    ]
    return heads, rows


def _at(point: Any) -> str:
    return ", ".join(f"{float(value) + 0.0:.2f}" for value in point)


def _faces(found: list[Any]) -> Table:
    rows: list[Row] = [
        (
            one.face, "may be covered" if one.ready else "not yet", one.joints, len(one.blockers),
            ", ".join(f"{count} {state}" for state, count in one.states.items() if count),
        )
        for one in found
    ]  # fmt: skip
    return ("face", "answer", "joints", "in the way", "states"), rows


def _lots(found: proof.Lots) -> Table:
    keys = ("id", "answer", "readings", "mean_um", "bound_um", "minimum_um")
    rows: list[Row] = [tuple(lot[key] for key in keys) for lot in found.to_json()["lots"]]
    rows += [(name, "not judged", None, None, None, None) for name in found.to_json()["unjudged"]]
    return ("lot", "answer", "readings", "mean [µm]", "surely above [µm]", "needed [µm]"), rows


def _holes(found: Any) -> Table:
    keys = ("text", "joint", "face", "made_by", "noted", "sealed_with")
    rows: list[Row] = [
        ("open" if hole["open"] else "sealed", *(hole[key] for key in keys))
        for hole in found.to_json()["holes"]
    ]
    return ("state", "hole", "joint", "face", "made by", "noted", "sealed with"), rows


def _drawings(found: list[dict[str, Any]]) -> Table:
    """The drawings that were issued: what everything else in the record is of."""
    keys = ("number", "time", "author", "reason", "sha256")
    return ("revision", "issued", "by", "reason", "SHA-256"), [
        tuple(one[key] for key in keys) for one in found
    ]


def _patches(found: list[dict[str, Any]], states: dict[str, str]) -> Table:
    rows: list[Row] = [
        (one["joint"], one["face"], one["mark"], one["revision"], states.get(one["joint"], ""))
        for one in found
    ]
    return ("patch", "face", "where was", "left by revision", "state"), rows


def _page(house: House, closed: Check, counts: dict[str, int], shown: dict[str, Table], picture: str) -> str:
    total, tight = sum(counts.values()), counts.get("proved", 0) + counts.get("covered", 0)
    bare = counts.get("bare", 0)
    hull = "The hull is closed: every face edge carries a joint." if closed.closed else "The hull is OPEN."
    show = Show(house.building.system)
    titles = {
        "faces": "Faces: may they be covered", "continuity": "Where the layer is open",
        "lots": "Film lots", "holes": "Holes", "patches": "Patches", "states": "Every joint",
        "drawings": "Drawings that were issued",
    }  # fmt: skip
    listings = [
        Listing(titles[name], heads, [[_cell(cell) for cell in row] for row in rows], folded=name == "states")
        for name, (heads, rows) in ((name, shown[name]) for name in titles)
        if rows
    ]
    return page(
        Page(
            title=f"{house.building.name}: record",
            answer=f"{hull} {tight} of {total} joints are proved or covered, {counts.get('punctured', 0)} stand open by a hole.",
            sums=[
                *[
                    Sum("Drawing", f"revision {number}", f"{str(time)[:10]}, {author}")
                    for number, time, author, *_ in shown["drawings"][1][-1:]
                ],
                Sum("Joints", f"{total}", f"{bare} bare"),
                Sum("Proved or covered", f"{tight}", f"{100 * tight / max(total, 1):.0f} %"),
                Sum("Holes open", f"{sum(row[0] == 'open' for row in shown['holes'][1])}"),
                Sum(
                    "Layer",
                    show.area(house.hull.area),
                    f"{100 * house.joints.joint_share:.1f} % of edges carry a joint",
                ),
            ],
            pictures=[
                Picture("The house by state", picture, "Each joint once: pattern and weight say its state.")
            ],
            listings=listings,
            dangers=[(caution.text, str(caution.evidence)) for caution in closed.cautions],
            assumed=house.building.assumed,
            made="Made by hullwright from the log as it stood. States follow from entries; nobody types them.",
        )
    )


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.4g}"
    return str(value)


def _zip(files: dict[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, _DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            pack.writestr(entry, content)
    return stream.getvalue()
