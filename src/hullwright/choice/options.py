"""Which options are allowed on a run, and which rule bars each other one.

An option is a method with its product and preparation. Facts on run and option go to the catalogue's rules; the first
rule that bears is named. Runs with the same facts share their answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from hullwright.building.model import Building, Fixed
from hullwright.catalog import Catalog, Method, Product, Rule
from hullwright.evidence import STATED, Evidence, Mark
from hullwright.hull.model import Face, FaceKind
from hullwright.joints.model import Run

WITHOUT: Final = "none"
"""What a decision says for going without primer or filler."""
NO_FIGURES = Rule(
    "no-figures",
    "Not a way to seal this kind of joint: the catalogue has no figures for it here.",
    Evidence(Mark.PRACTICE),
    {},
    {},
)
NO_PRODUCT = Rule(
    "no-product", "No product of this form is in the catalogue.", Evidence(Mark.PRACTICE), {}, {}
)
ONLY_MINE = Rule(
    "only-mine",
    "The building file says `use: mine`, and this takes an invented product.",
    STATED,
    {},
    {},
    state="a product of your own for it, or leave `use: mine` out",
)
OWN_FIRST = Rule(
    "own-first",
    "You have a product of your own for this method here: an invented one stands in only where none of yours may.",
    STATED,
    {},
    {},
)


@dataclass(frozen=True, slots=True)
class Option:
    """A way to seal a run.

    Parameters
    ----------
    method, product : str
        Keys of the catalogue; product '' where none is used.
    primer, filler, blocking : str
        Products that go before it, '' for none.
    cleaning : bool
        The surface is cleaned first.
    advice : tuple of str
        Ids of rules that say something with it.
    """

    method: str
    product: str
    primer: str = ""
    filler: str = ""
    blocking: str = ""
    cleaning: bool = False
    advice: tuple[str, ...] = ()

    def label(self, catalog: Catalog) -> str:
        """Say it in words."""
        name = catalog.methods[self.method].name
        text = f"{name}: {catalog.called(self.product)}" if self.product else name
        steps = [word for word, on in (("primed", self.primer), ("gap filled first", self.filler)) if on]
        return ", ".join([text, *steps, *(["blocking behind"] if self.blocking else [])])

    def decided(self, decision: Fixed) -> bool:
        """Whether it is what a decision asks for: method, and product, primer and filler where the decision names them."""
        asked = ((decision.primer, self.primer), (decision.filler, self.filler))
        return (
            self.method == decision.method
            and decision.product in ("", self.product)
            and all(wanted in ("", had or WITHOUT) for wanted, had in asked)
        )

    @property
    def takes(self) -> tuple[str, ...]:
        """Ids of all products that go into it."""
        return tuple(one for one in (self.product, self.primer, self.filler, self.blocking) if one)


CARPENTRY = ("unsealed", "cut_tails", "cover", "weatherstrip")
"""Methods that every framing crew knows."""


def practised(method: str, known: tuple[str, ...]) -> bool:
    """Whether the crew has done a method before; a crew that states nothing has done them all."""
    return not known or method in CARPENTRY or method in known


@dataclass(frozen=True, slots=True)
class Barred:
    """An option that is left out, and the rule that bars it."""

    option: Option
    rule: Rule


@dataclass(frozen=True, slots=True)
class Allowed:
    """The options of one run."""

    options: tuple[Option, ...]
    barred: tuple[Barred, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """What the rules want to know of a run beside the run itself.

    Parameters
    ----------
    run : Run
    face : Face or None
        Face it lies on.
    states : tuple of str
        State of the surface there.
    rows : tuple of str
        Rows of the surface factors for its substrates.
    fixed : tuple of str
        Methods that the user has decided for it.
    """

    run: Run
    face: Face | None
    states: tuple[str, ...]
    rows: tuple[str, ...]
    fixed: tuple[str, ...] = ()

    @property
    def group(self) -> str:
        """wall, roof, floor, ceiling or ''."""
        return self.face.group if self.face else ""

    def signature(self) -> tuple[object, ...]:
        """Everything that the rules look at."""
        run = self.run
        sizes = (run.gap, run.depth, run.width, run.section_depth)
        flags = (run.backed, run.rated, run.rigid, run.level, run.bridged, run.stage)
        return (run.kind, run.substrates, sizes, flags, self.states, self.rows, self.group, self.fixed)


_FOUNDATION = frozenset({FaceKind.SLAB_EDGE, FaceKind.BASEMENT_WALL, FaceKind.GROUND})


def states_at(building: Building, face: Face | None) -> tuple[str, ...]:
    """State of the surface on a face: the most exact key wins (mass/side, mass, group or foundation)."""
    if face is None:
        return ("clean",)
    group = "foundation" if face.kind in _FOUNDATION else face.group
    for key in (face.id, f"{face.mass}/{face.side}", face.mass, group):
        if key in building.surfaces:
            return tuple(building.surfaces[key])
    return ("clean",)


def spot_of(
    building: Building,
    run: Run,
    face: Face | None,
    catalog: Catalog,
    *,
    fixed: tuple[str, ...] = (),
    beside: Iterable[Face] = (),
) -> Spot:
    """Gather what the rules look at.

    Parameters
    ----------
    building : Building
    run : Run
    face : Face or None
        The run's face.
    catalog : Catalog
    fixed : tuple of str
        Methods decided by the user for this run.
    beside : iterable of Face
        Every face that its joints touch: each brings the state of its own surface.

    Returns
    -------
    Spot
        A frame or pipe, which is no face, takes the state of the run's face.
    """
    faces: list[Face | None] = [*beside] or [face]
    own = {(one.substrate if one else "", state) for one in faces for state in states_at(building, one)}
    made_of = {substrate for substrate, _ in own}
    states = {state for _, state in own}
    rows = {
        catalog.substrates[substrate].rows[state]
        for substrate in run.substrates
        if substrate in catalog.substrates
        for state in (
            [state for of, state in own if of == substrate]
            if substrate in made_of
            else states_at(building, face)
        )
    }
    dirty = states - {"clean"} or states
    return Spot(run, face, tuple(sorted(dirty)), tuple(sorted(rows)), fixed)


def allowed(spot: Spot, building: Building, catalog: Catalog) -> Allowed:
    """Sort the options of a run.

    Parameters
    ----------
    spot : Spot
        The run with its surroundings.
    building : Building
        Bare days, practised methods, stated temperature.
    catalog : Catalog

    Returns
    -------
    Allowed
        What is allowed, and every other option with its rule.
    """
    base = _run_facts(spot, building, catalog)
    options: list[Option] = []
    barred: list[Barred] = []
    for option, rule in _candidates(spot, catalog):
        stop = rule or _barring(option, base, spot, catalog) or _not_mine(option, building, catalog)
        if stop is None:
            options.append(option)
        else:
            barred.append(Barred(option, stop))
    said = tuple(_with_advice(option, base, spot, catalog) for option in options)
    return Allowed(said, tuple(barred))


def _not_mine(option: Option, building: Building, catalog: Catalog) -> Rule | None:
    """Bar what takes an invented product where the user forbids it; lumber is lumber, whoever sells it."""
    taken = (catalog.products[one] for one in option.takes)
    if building.use == "mine" and any(one.generic and one.form != "lumber" for one in taken):
        return ONLY_MINE
    return None


def own_first(got: Allowed, catalog: Catalog) -> Allowed:
    """Bar the invented products of each method for which a product of the user's own is allowed on the run.

    Parameters
    ----------
    got : Allowed
        What rules and decisions allow.
    catalog : Catalog

    Returns
    -------
    Allowed
        A method for which no own product is allowed keeps its invented ones: they stand in.
    """
    mine = {one.method for one in got.options if one.product and not catalog.products[one.product].generic}
    stand = [one for one in got.options if one.method in mine and catalog.products[one.product].generic]
    if not stand:
        return got
    kept = tuple(one for one in got.options if one not in stand)
    return Allowed(kept, (*got.barred, *(Barred(one, OWN_FIRST) for one in stand)))


def _candidates(spot: Spot, catalog: Catalog) -> Iterator[tuple[Option, Rule | None]]:
    kind = catalog.kinds[spot.run.kind.value]
    for method in catalog.methods.values():
        if not method.form:
            yield Option(method.id, ""), None
        elif kind.inert or not has_figures(catalog, method.id, kind.row, piece=spot.run.kind.piece):
            if not kind.inert:
                yield Option(method.id, ""), NO_FIGURES
        else:
            products = _products(catalog, method)
            if not products:
                yield Option(method.id, ""), NO_PRODUCT
            for product in products:
                yield from ((option, None) for option in _variants(spot, method, product, catalog))


def _products(catalog: Catalog, method: Method) -> tuple[Product, ...]:
    products = catalog.by_form(method.form)
    return tuple(p for p in products if p.pack_unit == "piece") if method.id == "cut_tails" else products


def has_figures(catalog: Catalog, method: str, row: str, *, piece: bool) -> bool:
    """Whether the catalogue has starting figures for a method on a row of joints."""
    if piece:
        return f"each.{method}.{row}" in catalog.figures
    return f"sound.{method}.{row}" in catalog.figures and f"place.{method}.{row}" in catalog.figures


def _variants(spot: Spot, method: Method, product: Product, catalog: Catalog) -> Iterator[Option]:
    primers = ["", *_primers(product, catalog)] if "primer" in method.prepared else [""]
    fills = [""]
    if "filler" in method.prepared and not spot.run.kind.piece and spot.run.gap > product.gap_direct:
        fills = ["", _filler(product, catalog)]
    blocks = [""]
    if "blocking" in method.prepared and not spot.run.backed and not spot.run.kind.piece:
        blocks = ["", *[p.id for p in catalog.by_form("lumber") if p.pack_unit == "m"][:1]]
    cleaning = "dusty" in spot.states or "poor concrete" in spot.rows
    for primer in primers:
        for fill in dict.fromkeys(fills):
            for block in blocks:
                yield Option(method.id, product.id, primer, fill, block, cleaning)


def _primers(product: Product, catalog: Catalog) -> tuple[str, ...]:
    """Primer for a product: the one its sheet names; a sheet that wants primer and names none takes one that is not known to fail."""
    if product.primers or "needed" not in product.primer.values():
        return product.primers[:1]
    fit = (one.id for one in catalog.by_form("primer") if catalog.together(one, product).verdict != "fails")
    return tuple(fit)[:1]


def _filler(product: Product, catalog: Catalog) -> str:
    """Product that fills a gap under it: a liquid fills for itself, a tape wants sealant of a sort that fits it best."""
    if product.form in ("liquid", "coat"):
        return product.id
    fillers = catalog.by_form("sealant")
    order = {"fits": 0, "unknown": 1}
    verdicts = {one.id: catalog.together(one, product).verdict for one in fillers}
    fit = [one for one in fillers if verdicts[one.id] in order]
    ranked = sorted(fit, key=lambda one: (one.generic, order[verdicts[one.id]], one.id))
    return ranked[0].id if ranked else ""


def _run_facts(spot: Spot, building: Building, catalog: Catalog) -> dict[str, Any]:
    run = spot.run
    kind = catalog.kinds[run.kind.value]
    return {
        "kind": run.kind.value,
        "row": kind.row,
        "inert": kind.inert,
        "piece": run.kind.piece,
        "group": spot.group,
        "backed": run.backed,
        "rated": run.rated,
        "rigid": run.rigid,
        "level": run.level,
        "stage": run.stage,
        "bridged": run.bridged,
        "gap": run.gap,
        "height": run.height,
        "round": (run.section_depth == 0 and run.width > 0) or kind.row == "cable group",
        "wide": run.width > 0.2032,
        "substrate": run.substrates,
        "concrete": any(name.startswith("concrete") for name in run.substrates),
        "state": spot.states,
        "surface": spot.rows,
        "bare_days": building.site.bare_days,
        "low": catalog.find("site.low_temperature"),
        "high": catalog.find("site.high_temperature"),
        "practised_methods": building.crew.practised,
    }


def _facts(option: Option, base: Mapping[str, Any], spot: Spot, catalog: Catalog) -> dict[str, Any]:
    product = catalog.products.get(option.product)
    facts = dict(base) | {
        "method": option.method,
        "primer": bool(option.primer),
        "filler": bool(option.filler),
        "blocking": bool(option.blocking),
        "practised": practised(option.method, base["practised_methods"]),
    }
    return facts | _product_facts(product, base, spot, catalog)


def _product_facts(
    product: Product | None, base: Mapping[str, Any], spot: Spot, catalog: Catalog
) -> dict[str, Any]:
    if product is None:
        nothing = (
            "primer_needed",
            "primer_helps",
            "gap_over_direct",
            "gap_over_filled",
            "too_cold",
            "too_hot",
        )
        return dict.fromkeys((*nothing, "too_long_bare", "surface_fails"), False) | {
            "form": "", "chemistry": "", "movement": 0.0, "product": "",
        }  # fmt: skip
    keys = {*spot.rows, *spot.run.substrates}
    line = not spot.run.kind.piece and product.form != "gasket"
    gap_limit = max(product.gap_filled, product.gap_direct)
    return {
        "product": product.id,
        "form": product.form,
        "chemistry": product.chemistry,
        "movement": product.movement,
        "primer_needed": any(product.primer.get(key) == "needed" for key in keys),
        "primer_helps": primer_helps(spot, product, catalog),
        "gap_over_direct": line and product.form != "sealant" and spot.run.gap > product.gap_direct + 1e-9,
        "gap_over_filled": line and gap_limit > 0 and spot.run.gap > gap_limit + 1e-9,
        "too_cold": base["low"] is not None and base["low"] < product.temp_low,
        "too_hot": base["high"] is not None and base["high"] > product.temp_high,
        "too_long_bare": base["bare_days"] > product.sun_days,
        "surface_fails": _surface_fails(product, spot, catalog),
    }


def primer_helps(spot: Spot, product: Product, catalog: Catalog) -> bool:
    """Whether priming is asked for, or takes flaws off, on any surface of the run."""
    keys = {*spot.rows, *spot.run.substrates}
    if any(product.primer.get(key) in ("needed", "advised") for key in keys):
        return True
    for row in spot.rows:
        bare = catalog.find(f"surface.{row}.tape")
        if bare is None or bare > catalog.value(f"surface.{row}.primed"):
            return True
    return False


def _surface_fails(product: Product, spot: Spot, catalog: Catalog) -> bool:
    classes = {catalog.substrates[s].chemistry for s in spot.run.substrates if s in catalog.substrates} - {""}
    return any(catalog.pair(product.chemistry, one).verdict == "fails" for one in classes)


def _barring(option: Option, base: Mapping[str, Any], spot: Spot, catalog: Catalog) -> Rule | None:
    facts = _facts(option, base, spot, catalog)
    decided = option.method in spot.fixed
    for rule in catalog.rules:
        if rule.effect == "bars" and not (decided and rule.yields) and rule.bears(facts):
            return rule
    return None


def _with_advice(option: Option, base: Mapping[str, Any], spot: Spot, catalog: Catalog) -> Option:
    facts = _facts(option, base, spot, catalog)
    advice = tuple(rule.id for rule in catalog.rules if rule.effect == "advises" and rule.bears(facts))
    return Option(
        option.method, option.product, option.primer, option.filler, option.blocking, option.cleaning, advice
    )
