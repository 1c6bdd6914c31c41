"""Product sheets as people write them, into :class:`hullwright.catalog.model.Product`; every mistake at once."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, cast, get_args

from hullwright.catalog import usual
from hullwright.catalog.model import Form, PackUnit, Product
from hullwright.errors import Problem, QuantityError, Where
from hullwright.evidence import Evidence, Figure, Mark
from hullwright.units import read

FORMS: tuple[str, ...] = get_args(Form)
_WET = frozenset({"liquid", "sealant", "coat", "listed system"})
_FILM = frozenset({"liquid", "coat"})
_ROLL = frozenset({"tape", "stretch tape", "gasket"})
_LENGTHS = ("width", "least", "aim", "greatest", "gap_direct", "gap_filled")
_EARLIER = {"dry_min": "least", "dry": "aim", "dry_max": "greatest"}
"""Keys of before, still read."""
_NUMBERS = ("price", "solids", "sun_days", "rain_hours", "movement", "waste")
_SHARES = ("solids", "movement", "waste")
_KEYS = (
    "id", "name", "form", "chemistry", "pack", "coverage", "temperature", "primer", "primers", "vapour_class",
    "fits", "note", "number", "solids_by_weight", "where", "wet", "cures_in_pack", *_LENGTHS, *_NUMBERS,
)  # fmt: skip
CURES_BELOW = Figure(
    1e-3,
    "m3",
    Evidence(
        Mark.PRACTICE, "an opened cartridge or sausage of what cures by moisture is hard by the next morning"
    ),
)
"""Packs below this volume are cartridges and sausages: what cures by moisture cures in them, unless the sheet says no."""
_DRIES = frozenset({"acrylic liquid", "listed acrylic", "water primer"})
"""Chemistries that dry instead of curing by moisture: an opened pack keeps, closed."""


@dataclass(slots=True)
class _Sheet:
    """One sheet while it is read."""

    raw: Mapping[str, Any]
    where: Where
    places: Mapping[str, Where] = field(default_factory=dict[str, Where])
    written: Mapping[str, str] = field(default_factory=dict[str, str])
    problems: list[Problem] = field(default_factory=list[Problem])

    def wrong(self, key: str, message: str, *, got: object = "", allowed: str = "", hint: str = "") -> None:
        """Note a problem at a key of the sheet, by the name that stands there."""
        base, key = self.where, self.written.get(key, key)
        path = f"{base.key}.{key}" if base.key else key
        place = self.places.get(key, Where(base.file, base.line, base.column, path))
        self.problems.append(Problem(message, place, "" if got == "" else str(got), allowed, hint))

    def quantity(self, key: str, kind: str, *, least: float = 0.0) -> float:
        """Read a quantity with its unit, 0 where the sheet has none."""
        value, name = _first(self.raw.get(key)), self.written.get(key, key)
        if value is None:
            return 0.0
        try:
            number = read(value, kind)
        except QuantityError as error:
            self.wrong(
                key,
                f"{name} can't be read",
                got=value,
                allowed=error.problems[0].allowed,
                hint="add its unit",
            )
            return 0.0
        if number < least:
            self.wrong(key, f"{name} is below {least:g}", got=value, allowed=f"{least:g} or more")
        return number

    def number(self, key: str, default: float) -> float:
        """Read a plain number, 0 or more."""
        value = _share(self.raw.get(key, default)) if key in _SHARES else self.raw.get(key, default)
        if isinstance(value, bool) or not isinstance(value, (int, float)) or math.isnan(value) or value < 0:
            self.wrong(key, f"{key} must be a number, 0 or more", got=value, allowed="0 or more")
            return default
        if key in _SHARES and value > 1:
            self.wrong(
                key,
                f"{key} is a share",
                got=value,
                allowed="0 to 1",
                hint=f"for {value:g} % write {value / 100:g}",
            )
        return float(value)

    def yes(self, key: str, *, default: bool) -> bool:
        """Read yes or no."""
        value = self.raw.get(key, default)
        if isinstance(value, str) and value in ("yes", "no"):
            return value == "yes"
        if not isinstance(value, bool):
            self.wrong(key, f"{key} is yes or no", got=value, allowed="yes, no")
            return default
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Read a list of names."""
        value = self.raw.get(key, [])
        if not isinstance(value, (list, tuple)) or not all(isinstance(item, str) for item in value):
            self.wrong(key, f"{key} must be a list of names", got=value, allowed="a list such as [a, b]")
            return ()
        return tuple(value)


def _first(value: Any) -> Any:
    """Take the first of a figure printed in several units: the cross-check holds the others against it."""
    return next(iter(value), None) if isinstance(value, (list, tuple)) else value


def _share(value: Any) -> Any:
    """Turn ``60 %`` into 0.6; anything else stays."""
    if isinstance(value, str) and value.rstrip().endswith("%"):
        try:
            return float(value.rstrip().removesuffix("%")) / 100
        except ValueError:
            return value
    return value


def _printed(raw: Mapping[str, Any]) -> Mapping[str, tuple[str, ...]]:
    out: dict[str, tuple[str, ...]] = {}
    for key in ("wet", "dry", "solids", "coverage"):
        value = raw.get("aim" if key == "dry" else key)
        if value is not None:
            out[key] = tuple(str(v) for v in value) if isinstance(value, (list, tuple)) else (str(value),)
    return out


def product(
    raw: Mapping[str, Any], where: Where, evidence: Evidence, *, generic: bool
) -> tuple[Product | None, list[Problem]]:
    """Read one product sheet.

    Parameters
    ----------
    raw : mapping
        Keys as in the catalogue's own set; quantities carry their unit.
    where : Where
        Its place in the file.
    evidence : Evidence
        Mark of its values.
    generic : bool
        Part of the generic set; any other sheet takes the usual value of its form for what it leaves out.

    Returns
    -------
    Product or None, list of Problem
        The product where nothing was wrong.
    """
    sheet = _sheet(_plain(raw), where, raw.get("_places", {}))
    raw = {key: value for key, value in sheet.raw.items() if value is not None}
    _check_keys(sheet)
    form = raw.get("form")
    if not isinstance(form, str) or form not in FORMS:
        sheet.wrong(
            "form", "unknown form of product", got=form, allowed=", ".join(FORMS), hint=_close(form, FORMS)
        )
        return None, sheet.problems
    taken = () if generic else usual.missing(form, raw)
    sheet.raw = {**raw, **{one.key: one.value for one in taken}}
    pack, unit = _pack(sheet, form)
    made = replace(_build(sheet, form, pack, unit, (evidence, generic)), usual=taken)
    _check_film(sheet, form, made)
    return (None if sheet.problems else made), sheet.problems


def _sheet(raw: Mapping[str, Any], where: Where, places: Mapping[str, Where]) -> _Sheet:
    """Begin a sheet; keys of before take their names of today, and errors say what stands there."""
    written = {now: old for old, now in _EARLIER.items() if old in raw}
    sheet = _Sheet({_EARLIER.get(key, key): value for key, value in raw.items()}, where, places, written)
    for now, old in written.items():
        if now in raw:
            sheet.wrong(now, f"{old} and {now} are the same: one of them", got=f"{raw[old]} and {raw[now]}")
    return sheet


def _plain(value: Any) -> Any:
    """Take off the places that the reader of building files adds."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items() if key not in ("_where", "_places")}
    return [_plain(item) for item in value] if isinstance(value, list) else value


def _cures(form: str, chemistry: str, pack: float, unit: PackUnit) -> bool:
    """Whether the rest of an opened pack is lost overnight, where the sheet does not say."""
    small = unit == "m3" and pack < CURES_BELOW.value
    return small and form in _WET and chemistry not in _DRIES


def _build(sheet: _Sheet, form: str, pack: float, unit: PackUnit, kind: tuple[Evidence, bool]) -> Product:
    lengths = {key: sheet.quantity(key, "length") for key in _LENGTHS}
    low, high = _temperature(sheet)
    vapour = sheet.raw.get("vapour_class", 4)
    if vapour not in (1, 2, 3, 4):
        sheet.wrong(
            "vapour_class", "unknown vapour class", got=vapour, allowed="1, 2, 3, or 4 for vapour open"
        )
    chemistry = str(sheet.raw.get("chemistry", "unknown"))
    return Product(
        id=str(sheet.raw.get("id", "")),
        name=str(sheet.raw.get("name", sheet.raw.get("id", ""))),
        form=cast("Form", form),
        chemistry=chemistry,
        price=sheet.number("price", math.inf),
        pack=pack,
        pack_unit=unit,
        evidence=kind[0],
        solids=sheet.number("solids", 1.0),
        coverage=sheet.quantity("coverage", "coverage"),
        temp_low=low,
        temp_high=high,
        primer=_primer(sheet),
        primers=sheet.texts("primers"),
        sun_days=sheet.number("sun_days", math.inf),
        rain_hours=sheet.number("rain_hours", 0.0),
        vapour_class=int(vapour) if vapour in (1, 2, 3, 4) else 4,
        movement=sheet.number("movement", 0.0),
        waste=sheet.number("waste", 0.0),
        fits=sheet.texts("fits"),
        cures_in_pack=sheet.yes("cures_in_pack", default=_cures(form, chemistry, pack, unit)),
        generic=kind[1],
        note=str(sheet.raw.get("note", "")),
        number=str(sheet.raw.get("number", "")),
        where=sheet.where,
        printed=_printed(sheet.raw),
        width=lengths["width"],
        least=lengths["least"],
        stated_aim=lengths["aim"],
        greatest=lengths["greatest"],
        gap_direct=lengths["gap_direct"],
        gap_filled=lengths["gap_filled"],
    )


def _check_keys(sheet: _Sheet) -> None:
    for key in sheet.raw:
        if key not in _KEYS:
            sheet.wrong(
                key,
                f"unknown key {key!r} on a product sheet",
                got=key,
                allowed=", ".join(sorted(_KEYS)),
                hint=_close(key, _KEYS),
            )
    if not isinstance(sheet.raw.get("id"), str) or not sheet.raw.get("id"):
        sheet.wrong("id", "a product needs an id", allowed="a short name such as my-tape")


def _close(word: object, known: tuple[str, ...]) -> str:
    match = difflib.get_close_matches(str(word), known, 1)
    return f"did you mean {match[0]}?" if match else ""


def _pack(sheet: _Sheet, form: str) -> tuple[float, PackUnit]:
    value = sheet.raw.get("pack")
    if value is None:
        sheet.wrong("pack", "no pack size", allowed="volume (20 fl oz), roll length (90 ft), or pieces (12)")
        return 1.0, "piece"
    found: tuple[float, PackUnit]
    if form in _WET or form == "primer":
        found = sheet.quantity("pack", "volume"), "m3"
    elif form in _ROLL or (form in ("lumber", "rod") and isinstance(value, str)):
        found = sheet.quantity("pack", "length"), "m"
    else:
        found = sheet.number("pack", 1.0), "piece"
    if found[0] <= 0:
        sheet.wrong("pack", "a pack holds more than nothing", got=value, allowed="more than 0")
        return 1.0, found[1]
    return found


def _temperature(sheet: _Sheet) -> tuple[float, float]:
    value = sheet.raw.get("temperature")
    if value is None:
        return -math.inf, math.inf
    if not isinstance(value, (list, tuple)) or len(value) != 2:
        sheet.wrong(
            "temperature", "temperature is a range", got=value, allowed='two values such as ["20 F", "120 F"]'
        )
        return -math.inf, math.inf
    try:
        low, high = (read(item, "temperature") for item in value)
    except QuantityError as error:
        sheet.wrong("temperature", "temperature can't be read", got=value, allowed=error.problems[0].allowed)
        return -math.inf, math.inf
    if low >= high:
        sheet.wrong(
            "temperature", "the lower end is not below the upper", got=value, allowed="low, then high"
        )
    return low, high


def _primer(sheet: _Sheet) -> Mapping[str, str]:
    value = sheet.raw.get("primer", {})
    words = ("needed", "advised", "no", False)  # a bare no is read as a plain no
    if not isinstance(value, Mapping) or any(item not in words for item in value.values()):
        sheet.wrong(
            "primer", "primer is a list of surfaces", got=value, allowed="surface: needed, advised or no"
        )
        return {}
    return {str(key): str(item) for key, item in value.items() if item not in ("no", False)}


def _check_film(sheet: _Sheet, form: str, made: Product) -> None:
    if form in _WET and "solids" not in sheet.raw:
        weight = sheet.raw.get("solids_by_weight")
        sheet.wrong(
            "solids",
            "a liquid product without solids by volume: its film can't be worked out",
            got="" if weight is None else f"{weight} by weight only",
            allowed="solids by volume, above 0 and up to 1",
            hint="ask the maker for the solids by volume: weight says nothing on thickness",
        )
    elif form in _WET and made.solids <= 0:
        sheet.wrong("solids", "solids must be above 0", got=made.solids, allowed="above 0 and up to 1")
    if form in _FILM:
        _check_range(sheet, made)
    if form in (*_ROLL, "liquid") and made.width <= 0:
        sheet.wrong("width", "no width", allowed="a width such as 3 3/4 in or 95 mm")
    if made.waste >= 1:
        sheet.wrong("waste", "waste is a share of what is used", got=made.waste, allowed="0 or more, below 1")
    if form == "primer" and made.coverage <= 0:
        sheet.wrong("coverage", "a primer needs its coverage", allowed="a coverage such as 200 ft2/gal")


def _check_range(sheet: _Sheet, made: Product) -> None:
    """Least, aim and greatest in order; at least one of the first two."""
    films = [film for film in (made.least, made.stated_aim, made.greatest) if film]
    if not made.least and not made.stated_aim:
        sheet.wrong("least", "no dry film thickness", allowed="a least dry film such as 10 mil or 250 µm")
    elif films != sorted(films):
        written = {key: sheet.raw[key] for key in ("least", "aim", "greatest") if key in sheet.raw}
        sheet.wrong(
            "aim" if made.stated_aim else "greatest",
            "the film aimed at is not between its least and greatest",
            got=", ".join(f"{sheet.written.get(key, key)} {value}" for key, value in written.items()),
            allowed="least ≤ aim ≤ greatest",
        )
