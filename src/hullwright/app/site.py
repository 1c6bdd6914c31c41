"""What the log needs to know of the house: joints, later trades, least films, flaw and hour figures, from its building file."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from hullwright.app.house import House, Source, load
from hullwright.catalog import Catalog
from hullwright.catalog import load as load_catalog
from hullwright.choice.films import film_of
from hullwright.choice.takes import fillets, open_gap
from hullwright.errors import InputError, Problem, Where
from hullwright.joints.model import Floats, Joint, JointKind
from hullwright.joints.renamed import method
from hullwright.proof.drawing import Drawing
from hullwright.proof.lots import Need
from hullwright.proof.mockup import Target
from hullwright.proof.place import JointLine
from hullwright.proof.rules import PHOTOS
from hullwright.proof.site import House as SiteHouse
from hullwright.proof.site import Later, Point, SiteJoint

_LATER_STAGES = frozenset({"services", "later"})
_COUNTED_ELSEWHERE = frozenset({JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED})  # by face, not as joints


def opened(source: Source | House) -> House:
    """Give the house, read where it is not open yet."""
    return source if isinstance(source, House) else load(source)


def site_house(source: Source | House, plan: str | None = None) -> SiteHouse:
    """Give the joints of a house with their planned methods.

    Parameters
    ----------
    source : path, Building or House
    plan : str or None
        ``plan.json`` of the plan; without it the methods come from what was done.

    Returns
    -------
    hullwright.proof.cover.House

    Raises
    ------
    InputError
        Where the plan file can't be read or is of another house.
    """
    house = opened(source)
    methods = plan_methods(plan, house) if plan else {}
    catalog = catalog_of(house)
    joints = [joint for joint in house.joints.joints if joint.kind not in _COUNTED_ELSEWHERE]
    if plan and not methods:
        raise InputError(
            "the plan is of another house", [Problem("none of its runs is in the building file", Where(plan))]
        )
    site = tuple(_site_joint(joint, methods.get(joint.run, ("", False, ""))) for joint in joints)
    later = tuple(
        Later(joint.id, face, f"{joint.kind.value}, by {joint.stage}", joint.id)
        for joint in joints
        if joint.stage in _LATER_STAGES
        for face in joint.faces
    )
    bare, needs = unnailed(house), needs_of(catalog)
    return SiteHouse(site, later, unnailed=bare, photos=photos_of(house), needs=needs, sheets=catalog)


def site_of(drawing: Drawing, methods: Mapping[str, tuple[str, bool, str]], catalog: Catalog) -> SiteHouse:
    """Give the joints of an issued drawing with their planned methods.

    Parameters
    ----------
    drawing : Drawing
    methods : mapping of str to tuple
        Method, primer and product by run, for joints that were issued without a planned method.
    catalog : Catalog
        Sheets that state the least films.

    Returns
    -------
    hullwright.proof.cover.House
    """
    joints = [joint for joint in drawing.joints if joint.kind not in _COUNTED_ELSEWHERE]
    site: list[SiteJoint] = []
    for joint in joints:
        planned = methods.get(joint.run, ("", False, ""))
        if joint.method:
            planned = joint.method, joint.primer, joint.product
        x, y, z = (sum(axis) / len(axis) for axis in zip(*joint.points, strict=True))
        site.append(
            SiteJoint(
                joint.id,
                joint.kind,
                joint.faces,
                joint.length,
                planned[0],
                (x, y, z),
                planned[1],
                joint.points,
                planned[2],
                joint.stage or "sheathing",
                joint.mark,
                joint.run,
                (joint.width, joint.depth),
                (joint.was,) if joint.was else (),
            )
        )
    later = tuple(
        Later(joint.id, face, f"{joint.kind}, by {joint.stage}", joint.id)
        for joint in joints
        if joint.stage in _LATER_STAGES
        for face in joint.faces
    )
    bare = frozenset(face.id for face in drawing.faces if not face.nailed)
    return SiteHouse(tuple(site), later, unnailed=bare, needs=needs_of(catalog), sheets=catalog)


def photos_of(house: House) -> Mapping[str, int]:
    """Give the plan of photos: what the building file says, else one each."""
    return dict(PHOTOS) | dict(house.building.photos)


def drawn_lines(drawing: Drawing) -> tuple[JointLine, ...]:
    """Give the joints of a drawing as they lie, for entries that need a place."""
    return tuple(
        JointLine(joint.id, joint.kind, joint.faces[0], np.array(joint.points)) for joint in drawing.joints
    )


def unnailed(house: House) -> frozenset[str]:
    """Give the faces on which nothing is nailed: concrete."""
    return frozenset(face.id for face in house.hull.faces if face.substrate == "concrete")


def any_joint(source: Source | House, joint: str) -> SiteJoint | None:
    """Give one joint by its id, of today or of before, those that are counted by face too; None where there is none."""
    found = opened(source).lookup.joint(joint)
    return None if found is None else _site_joint(found, ("", False, ""))


def joint_lines(house: House) -> tuple[JointLine, ...]:
    """Give the joints of a house as they lie now, for entries that need a place."""
    return tuple(
        JointLine(joint.id, joint.kind.value, joint.faces[0], joint.points) for joint in house.joints.joints
    )


def catalog_of(source: Source | House | None) -> Catalog:
    """Give the catalogue with the sheets of a building file, or the generic one."""
    return load_catalog(None if source is None else opened(source).building)


def needs_of(catalog: Catalog) -> dict[str, Need]:
    """Give the least film of every liquid product by its sheet; where it states none, what it aims at."""
    films = {key: (film_of(product, catalog), product) for key, product in catalog.products.items()}
    return {key: Need(aim.least, product.solids) for key, (aim, product) in films.items() if aim is not None}


def target_of(catalog: Catalog, product: str, *, more: float = 0.0) -> Target | None:
    """Give the film along a joint that the crew aims at; None for what is no film along a joint.

    Parameters
    ----------
    catalog : Catalog
    product : str
    more : float
        What a metre takes beside the film: open gaps and fillets, as :func:`beside_film` has it [m2].
    """
    sheet = catalog.products.get(product)
    aim = None if sheet is None else film_of(sheet, catalog)
    if sheet is None or aim is None or sheet.width <= 0:
        return None
    return Target(sheet.width, aim.aim_wet, more=more)


def beside_film(house: House, catalog: Catalog, joints: Collection[str]) -> float:
    """Give what a metre takes beside its film, as the plan counts it: open gaps and fillets [m2].

    Parameters
    ----------
    house : House
    catalog : Catalog
    joints : collection of str
        Ids of the joints that it is the mean of; where none of them is a line, all lines of the house.
    """
    runs = [run for run in house.joints.runs if not run.kind.piece]
    lines = [(house.joints.joints[n], run) for run in runs for n in run.joints]
    chosen = [(joint.length, run) for joint, run in lines if joint.id in joints]
    weighed = chosen or [(joint.length, run) for joint, run in lines]
    length = sum(long for long, _ in weighed)
    if not length:
        return 0.0
    return (
        sum(
            long * (open_gap(run, catalog).section + fillets(run, catalog) / run.quantity)
            for long, run in weighed
        )
        / length
    )


def plan_methods(file: str, house: House) -> dict[str, tuple[str, bool, str]]:
    """Read method, primer and product of each run from a ``plan.json``, of today or of before; runs that the house has not are left out."""
    try:
        data: Any = json.loads(Path(file).read_text("utf-8"))
        runs: list[Mapping[str, Any]] = data["runs"]
        return {
            found.id: (
                method(str(run["method"])),
                "primer" in run.get("prepared", ()),
                str(run.get("product", "")),
            )
            for run in runs
            if (found := house.lookup.run(str(run["id"]))) is not None
        }
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        problem = Problem(
            "not a plan that hullwright wrote", Where(file), str(error)[:120], "plan.json of a plan"
        )
        raise InputError("the plan can't be read", [problem]) from error


def _site_joint(joint: Joint, planned: tuple[str, bool, str]) -> SiteJoint:
    method, primer, product = planned
    return SiteJoint(
        joint.id,
        joint.kind.value,
        joint.faces,
        joint.length,
        method,
        _point(joint.points.mean(axis=0)),
        primer,
        points=tuple(_point(point) for point in joint.points),
        product=product,
        stage=joint.stage,
        mark=joint.mark,
        run=joint.run,
        section=(joint.width, joint.section_depth),
        was=(joint.was,),
    )


def _point(at: Floats) -> Point:
    return float(at[0]), float(at[1]), float(at[2])
