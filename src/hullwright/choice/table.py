"""The columns of the instance, and the way back from a row to trade words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.catalog import Catalog
from hullwright.choice import using
from hullwright.choice.drainage import Drainage, drainage
from hullwright.choice.instance import Coat, Instance
from hullwright.choice.options import Allowed, Barred, Option, Spot, practised
from hullwright.choice.sums import Terms
from hullwright.choice.takes import coat_packs, takes
from hullwright.choice.terms import Row, terms_of
from hullwright.exposure import Exposure
from hullwright.hull.model import Face
from hullwright.joints.model import JointSet, Run

Floats = NDArray[np.float64]
SWEEPS = (("sheathing", "openings"), ("services", "later"))


def steady(values: Floats | float) -> Floats:
    """Round to a grid far below what matters, so that a house in feet and its twin in metres are the same numbers to the solver.

    Without it, rounding of the last digit picks between plans that are equally good, and the two houses get different ones.

    Examples
    --------
    >>> float(steady(0.1 + 0.2)) == float(steady(0.3))
    True
    """
    exact: Floats = np.asarray(values, dtype=np.float64)
    return exact.round(9)


@dataclass(frozen=True, slots=True)
class Choice:
    """The choice as numbers, with the way back to trade words.

    Parameters
    ----------
    instance : Instance
        What the solver gets.
    terms : Terms
        Terms of the sums, one row an option.
    options : tuple of Option
        Option of each row.
    run_of : ndarray (M,)
        Run number of each row.
    runs : tuple of Run
    spots : tuple of Spot
    barred : tuple of tuple of Barred
        By run.
    products : tuple of str
        Product id of each column of ``instance.use``.
    methods : tuple of (str, int)
        Method and sweep of each number in ``instance.method``.
    faces : tuple of str
        Face of each face number.
    unmet : tuple of str
        Decisions of the user that a rule holds back, in words.
    lost : ndarray (M,)
        Packs of each option's own product that cure overnight, within ``instance.use``.
    drainage : Drainage
        Paths of the rain, by run.
    """

    instance: Instance
    terms: Terms
    options: tuple[Option, ...]
    run_of: NDArray[np.int64]
    runs: tuple[Run, ...]
    spots: tuple[Spot, ...]
    barred: tuple[tuple[Barred, ...], ...]
    products: tuple[str, ...]
    methods: tuple[tuple[str, int], ...]
    faces: tuple[str, ...]
    unmet: tuple[str, ...]
    lost: Floats
    drainage: Drainage

    def rows(self, run: int) -> range:
        """Rows of the options of a run."""
        return range(int(self.instance.first[run]), int(self.instance.first[run + 1]))


@dataclass(frozen=True, slots=True)
class Sources:
    """What the table is made from."""

    building: Building
    joints: JointSet
    catalog: Catalog
    faces: Mapping[str, Face]


class Table:
    """Collects the columns of the instance."""

    def __init__(self, sources: Sources, spots: Sequence[Spot], found: Sequence[Allowed]) -> None:
        self.building = sources.building
        self.joints = sources.joints
        self.catalog = sources.catalog
        self.faces = sources.faces
        self.spots = spots
        self.found = found
        self.products = tuple(self.catalog.products)
        self.column = {product: number for number, product in enumerate(self.products)}
        self.face_ids = tuple(sorted({run.face for run in self.joints.runs}))
        self.face_number = {face: number for number, face in enumerate(self.face_ids)}
        self.methods = tuple(
            (m, s) for m in self.catalog.methods if m != "unsealed" for s in range(len(SWEEPS))
        )
        self.method_number = {key: number for number, key in enumerate(self.methods)}
        self.coats: list[Coat] = []
        self.coat_number: dict[tuple[str, str], int] = {}

    def choice(self, water: Exposure, unmet: tuple[str, ...]) -> Choice:
        """Put it together."""
        self._coats()
        options = [option for got in self.found for option in got.options]
        sizes = [len(got.options) for got in self.found]
        run_of = np.repeat(np.arange(len(sizes)), sizes).astype(np.int64)
        first = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
        terms = self._terms(options, run_of, water)
        hours = np.array([self._hours(int(run), option) for run, option in zip(run_of, options, strict=True)])
        lost = self._lost(options, hours)
        money, setup_hours = self._setup()
        clash, unknown = self._meetings()
        instance = Instance(
            first=first,
            air=steady(terms.air),
            water=steady(terms.water),
            labour=steady(hours * self.building.crew.rate),
            hours=steady(hours),
            use=steady(self._use(run_of, options, lost)),
            price=np.array([self.catalog.products[p].price for p in self.products]),
            stock=np.full(len(self.products), np.inf),
            owned=np.floor(np.array([self.catalog.stock.get(p, 0.0) for p in self.products])),
            method=np.array(
                [self._method(int(r), o) for r, o in zip(run_of, options, strict=True)], dtype=np.int64
            ),
            face=np.array([self.face_number[run.face] for run in self.joints.runs], dtype=np.int64),
            setup_money=steady(money),
            setup_hours=steady(setup_hours),
            coat=np.array(
                [self._coat(int(r), o) for r, o in zip(run_of, options, strict=True)], dtype=np.int64
            ),
            coats=tuple(
                replace(c, labour=float(steady(c.labour)), hours=float(steady(c.hours)), use=steady(c.use))
                for c in self.coats
            ),
            meet=np.array([sorted(m.runs) for m in self.joints.meetings], dtype=np.int64).reshape(-1, 2),
            material=np.array([self._material(o) for o in options], dtype=np.int64),
            clash=clash,
            unknown=unknown,
        )
        return Choice(
            instance,
            terms,
            tuple(options),
            run_of,
            self.joints.runs,
            tuple(self.spots),
            tuple(got.barred for got in self.found),
            self.products,
            self.methods,
            self.face_ids,
            unmet,
            lost,
            drainage(water, self.joints),
        )

    def _coats(self) -> None:
        wanted = {
            (spot.run.face, option.product)
            for spot, got in zip(self.spots, self.found, strict=True)
            for option in got.options
            if option.method == "coat" and spot.run.face in self.faces
        }
        for face_id, product_id in sorted(wanted):
            face, product = self.faces[face_id], self.catalog.products[product_id]
            use = np.zeros(len(self.products))
            use[self.column[product_id]] = coat_packs(face.net_area, product, self.catalog)
            top = max((s.run.height for s in self.spots if s.run.face == face_id), default=0.0)
            hours = face.net_area * self.catalog.value("hours.coat") * using.access(top, self.catalog)
            if not practised("coat", self.building.crew.practised):
                hours *= self.catalog.value("factor.unpractised_hours")
            self.coat_number[face_id, product_id] = len(self.coats)
            self.coats.append(Coat(self.face_number[face_id], hours * self.building.crew.rate, hours, use))

    def _terms(self, options: Sequence[Option], run_of: NDArray[np.int64], water: Exposure) -> Terms:
        seen: dict[tuple[object, ...], Row] = {}
        rows: list[Row] = []
        for run, option in zip(run_of, options, strict=True):
            spot = self.spots[int(run)]
            key = (*spot.signature(), option)
            if key not in seen:
                seen[key] = terms_of(
                    spot,
                    option,
                    self.catalog,
                    practised=practised(option.method, self.building.crew.practised),
                )
            rows.append(seen[key])
        sound, flaws, hole, gather, enters, wide = np.array(rows, dtype=np.float64).reshape(-1, 6).T
        quantity = np.array([self.joints.runs[int(run)].quantity for run in run_of], dtype=np.float64)
        passing, reaching = water.runs[run_of], water.runs_open[run_of]
        return Terms(quantity, sound, flaws, hole, gather, enters, wide, passing, reaching)

    def _hours(self, run: int, option: Option) -> float:
        known = practised(option.method, self.building.crew.practised)
        return using.hours(self.joints.runs[run], option, self.catalog, practised=known)

    def _lost(self, options: Sequence[Option], hours: Floats) -> Floats:
        """Packs of each option's product that cure overnight."""
        crew = self.building.crew
        days = hours / (crew.people * crew.day)
        return np.array(
            [using.lost(option, self.catalog, float(day)) for option, day in zip(options, days, strict=True)]
        )

    def _use(self, run_of: NDArray[np.int64], options: Sequence[Option], lost: Floats) -> Floats:
        use = np.zeros((len(options), len(self.products)))
        for row, (run, option) in enumerate(zip(run_of, options, strict=True)):
            for product, count in takes(self.joints.runs[int(run)], option, self.catalog).packs.items():
                use[row, self.column[product]] += count
            if lost[row]:
                use[row, self.column[option.product]] += lost[row]
        return use

    def _method(self, run: int, option: Option) -> int:
        if option.method == "unsealed":
            return -1
        stage = self.joints.runs[run].stage
        sweep = next(number for number, stages in enumerate(SWEEPS) if stage in stages)
        return self.method_number[option.method, sweep]

    def _coat(self, run: int, option: Option) -> int:
        if option.method != "coat":
            return -1
        return self.coat_number[self.joints.runs[run].face, option.product]

    def _material(self, option: Option) -> int:
        return -1 if not option.product or option.method == "cut_tails" else self.column[option.product]

    def _setup(self) -> tuple[Floats, Floats]:
        hours = np.array([self.catalog.value(f"setup_hours.{m}") for m, _ in self.methods])
        money = np.array([self.catalog.value(f"setup_money.{m}") for m, _ in self.methods])
        money = money + hours * self.building.crew.rate
        shape = (len(self.face_ids), 1)
        return np.tile(money, shape), np.tile(hours, shape)

    def _meetings(self) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        made = [self.catalog.products[p] for p in self.products]
        verdicts = [[self.catalog.together(a, b).verdict for b in made] for a in made]
        table = np.array(verdicts).reshape(len(made), len(made))
        return table == "fails", table == "unknown"
