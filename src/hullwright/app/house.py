"""A house from its file to its joints: check and joints."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np

from hullwright import building as building_room
from hullwright import catalog as catalog_room
from hullwright import hull as hull_room
from hullwright import joints as joints_room
from hullwright.app.assumed import leak_defaults, sheet_defaults
from hullwright.app.cautions import HOUSE_CAUTIONS
from hullwright.app.earlier import learned
from hullwright.app.heads import head
from hullwright.building.model import Building
from hullwright.catalog import Catalog
from hullwright.evidence import Caution, Figure
from hullwright.hull.model import Face, Hull
from hullwright.hull.picture import plan_sketch
from hullwright.joints.figures import check as check_figures
from hullwright.joints.lookup import Lookup, lookup
from hullwright.joints.model import Hole, Joint, JointKind, JointSet, OpenPlace


@dataclass(frozen=True)
class House:
    """A building with what follows from it, each worked out once.

    Parameters
    ----------
    building : Building
        As stated.
    holes : tuple of Hole
        What the record says is still to be patched; a file alone knows none.
    """

    building: Building
    holes: tuple[Hole, ...] = ()

    @cached_property
    def hull(self) -> Hull:
        """Closed hull."""
        return hull_room.build(self.building)

    @cached_property
    def joints(self) -> JointSet:
        """Every joint."""
        return joints_room.find(self.building, self.hull, self.holes)

    @cached_property
    def lookup(self) -> Lookup:
        """Joints, runs and faces by any name that stands in a record."""
        return lookup(self.joints, self.hull)

    @cached_property
    def assumed(self) -> tuple[str, ...]:
        """Every default that was taken, with its evidence: of the file, and of what leaks whatever is sealed."""
        leaks = leak_defaults(self.building, self.hull.faces)
        return (*leaks, *sheet_defaults(self.catalog), *self.building.assumed)

    @cached_property
    def catalog(self) -> Catalog:
        """What the job is sealed with: our data, then what the file states; every wrong sheet, price and figure is an error."""
        return catalog_room.load(self.building)

    @cached_property
    def inner_volume(self) -> Figure:
        """Inner volume [m3]."""
        return hull_room.inner_volume(self.hull, self.building)


Source = str | Path | Building | House


def load(source: Source) -> House:
    """Read a building file.

    Parameters
    ----------
    source : path, Building or House
        File, or what was already read of it.

    Returns
    -------
    House

    Raises
    ------
    BuildingFileError
        With every problem of the file.
    InputError
        Where the experience that it names can't be used.
    """
    if isinstance(source, House):
        return source
    building = source if isinstance(source, Building) else learned(building_room.read(source))
    check_figures(building)
    return House(building)


def points(array: np.ndarray[Any, Any]) -> list[list[float]]:
    """Points as JSON, to a tenth of a millimetre."""
    rounded: list[list[float]] = (np.round(np.atleast_2d(array), 4) + 0.0).tolist()
    return rounded


@dataclass(frozen=True, slots=True)
class Check:
    """Answer of ``check``: is the hull closed, and what are its faces."""

    house: House
    places: tuple[OpenPlace, ...]
    cautions: tuple[Caution, ...]

    @property
    def closed(self) -> bool:
        """Whether the surface closes, every face edge carries a joint and every story that stands on another a floor line."""
        return self.house.hull.closed and not self.places

    def to_json(self) -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        hull = self.house.hull
        return head("check") | {
            "name": self.house.building.name,
            "closed": self.closed,
            "volume_m3": hull.volume,
            "inner_volume_m3": self.house.inner_volume.to_json(),
            "area_m2": hull.area,
            "joint_share": self.house.joints.joint_share,
            "floor_lines": floor_lines(self.house.joints),
            "open_ends": [
                {
                    "where": {"face": place.face, "from": points(place.start)[0], "to": points(place.end)[0]},
                    "length_m": place.length,
                    "note": place.note,
                }
                for place in self.places
            ],
            "faces": [_face_json(face) for face in hull.faces],
            "notes": list(self.house.hull.notes),
            "assumed": list(self.house.assumed),
            "remarks": list(self.house.building.remarks),
            "cautions": [caution.to_json() for caution in self.cautions],
        }

    def sketch(self) -> str:
        """Plan of the masses as SVG, open places ringed."""
        spots = [(float(place.start[0]), float(place.start[1])) for place in self.places]
        return plan_sketch(self.house.building, spots)


def floor_lines(found: JointSet) -> dict[str, float]:
    """Length of the joints that carry a floor line [m] by kind: across walls, and along the foot of walls not flush."""
    sums: dict[str, float] = {}
    for joint in found.joints:
        if joint.floor:
            sums[joint.kind.value] = sums.get(joint.kind.value, 0.0) + joint.length
    return {kind.value: sums[kind.value] for kind in JointKind if kind.value in sums}


def _face_json(face: Face) -> dict[str, Any]:
    return {
        "id": face.id,
        "kind": face.kind.value,
        "area_m2": face.area,
        "net_area_m2": face.net_area,
        "perimeter_m": face.perimeter,
        "azimuth_deg": None if np.isnan(face.azimuth) else face.azimuth,
        "tilt_deg": face.tilt,
        "substrate": face.substrate,
        "rated": face.rated,
        "openings": len(face.openings),
        "penetrations": len(face.penetrations),
    }


def check(source: Source) -> Check:
    """Tell whether the hull of a house is closed.

    Parameters
    ----------
    source : path or Building

    Returns
    -------
    Check
        Faces, volume, open places.

    Raises
    ------
    BuildingFileError, MassingError
        Where the file or the masses are wrong.
    """
    house = load(source)
    return Check(house, house.joints.open_places, HOUSE_CAUTIONS)


@dataclass(frozen=True, slots=True)
class Joints:
    """Answer of ``joints``: every joint, by kind and place."""

    house: House
    cautions: tuple[Caution, ...]

    def by_kind(self) -> dict[JointKind, tuple[float, float, int]]:
        """Pieces, length [m] and number of joints of each kind that occurs, in the order of the trade's list."""
        sums: dict[JointKind, tuple[float, float, int]] = {}
        for joint in self.house.joints.joints:
            count, length, number = sums.get(joint.kind, (0.0, 0.0, 0))
            sums[joint.kind] = (count + joint.count, length + joint.length, number + 1)
        return {kind: sums[kind] for kind in JointKind if kind in sums}

    def to_json(self) -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        return head("joints") | {
            "name": self.house.building.name,
            "joints": [joint_json(joint) for joint in self.house.joints.joints],
            "by_kind": {
                kind.value: {"count": count if kind.piece else number, "length_m": length}
                for kind, (count, length, number) in self.by_kind().items()
            },
            "floor_lines": floor_lines(self.house.joints),
            "joint_share": self.house.joints.joint_share,
            "panels": [
                {
                    "face": p.face,
                    "whole": p.whole,
                    "cut": p.cut,
                    "fasteners": p.fasteners,
                    "fasteners_under_bands": p.under_bands,
                }
                for p in self.house.joints.panels
            ],
            "assumed": list(self.house.assumed),
            "cautions": [caution.to_json() for caution in self.cautions],
        }


def joint_json(joint: Joint) -> dict[str, Any]:
    """One joint as JSON: ``length_m`` for a line, ``count`` for pieces."""
    size: dict[str, Any] = {"count": joint.count} if joint.kind.piece else {"length_m": joint.length}
    return {
        "id": joint.id,
        "name": joint.name,
        "mark": joint.mark,
        "kind": joint.kind.value,
        **size,
        "faces": list(joint.faces),
        "points": points(joint.points),
        "run": joint.run,
        "stage": joint.stage,
        "substrates": list(joint.substrates),
        "gap_mm": joint.gap * 1000,
        "backed": joint.backed,
        "upslope_m": joint.upslope,
        "height_m": joint.height,
        "mass": joint.mass,
        "rated": joint.rated,
        "floor_line": joint.floor,
        "part": joint.part,
        "offset_m": joint.offset,
        "was": joint.was,
    }


def joints(source: Source) -> Joints:
    """Find every joint of a house.

    Parameters
    ----------
    source : path or Building

    Returns
    -------
    Joints

    Raises
    ------
    BuildingFileError, MassingError
        Where the file or the masses are wrong.
    """
    house = load(source)
    _ = house.joints
    return Joints(house, HOUSE_CAUTIONS)
