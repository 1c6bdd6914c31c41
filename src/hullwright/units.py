"""How a quantity is read and printed.

SI inside, conversion at the edges. :func:`read` takes what a person writes (``9 ft 1 1/8 in``, ``9'-1 1/8"``, ``2.78 m``,
``12 mil``, ``80 ft2/gal``) and gives a float in SI; :class:`Show` prints SI in the units of the reader.

Sources: exact definitions 1 in = 25.4 mm and 1 US gal = 231 in3 (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from hullwright.errors import Problem, QuantityError
from hullwright.typed import COMMA, MOST_DIGITS, comma_hint, plain

INCH: Final = 0.0254
FOOT: Final = 0.3048
MIL: Final = 25.4e-6
GALLON: Final = 231 * INCH**3
FLUID_OUNCE: Final = GALLON / 128
CFM: Final = FOOT**3 / 60.0  # m3/s
POUND: Final = 0.45359237
POUND_FORCE: Final = POUND * 9.80665

# quantity -> {unit as written (lower case): factor to SI}. Temperature is affine and handled apart.
_LENGTH: Final = {
    "m": 1.0, "meter": 1.0, "metre": 1.0, "meters": 1.0, "metres": 1.0,
    "cm": 1e-2, "mm": 1e-3, "µm": 1e-6, "μm": 1e-6, "um": 1e-6, "micron": 1e-6, "microns": 1e-6, "km": 1e3,
    "ft": FOOT, "foot": FOOT, "feet": FOOT, "'": FOOT, "′": FOOT,
    "in": INCH, "inch": INCH, "inches": INCH, '"': INCH, "″": INCH, "''": INCH,
    "yd": 3 * FOOT, "mil": MIL, "mils": MIL,
}  # fmt: skip
_AREA: Final = {
    "m2": 1.0, "m²": 1.0, "sqm": 1.0, "cm2": 1e-4, "cm²": 1e-4, "mm2": 1e-6, "mm²": 1e-6,
    "ft2": FOOT**2, "ft²": FOOT**2, "sf": FOOT**2, "sqft": FOOT**2, "in2": INCH**2, "in²": INCH**2,
}  # fmt: skip
_VOLUME: Final = {
    "m3": 1.0, "m³": 1.0, "l": 1e-3, "litre": 1e-3, "liter": 1e-3, "litres": 1e-3, "liters": 1e-3,
    "ml": 1e-6, "cm3": 1e-6, "gal": GALLON, "gallon": GALLON, "gallons": GALLON,
    "floz": FLUID_OUNCE, "ft3": FOOT**3, "ft³": FOOT**3, "cf": FOOT**3, "in3": INCH**3, "in³": INCH**3,
    "qt": GALLON / 4, "quart": GALLON / 4,
}  # fmt: skip
_COVERAGE: Final = {"m2/l": 1e3, "m²/l": 1e3, "ft2/gal": FOOT**2 / GALLON, "ft²/gal": FOOT**2 / GALLON, "sf/gal": FOOT**2 / GALLON,
                    "l/m2": -1e3, "l/m²": -1e3, "gal/ft2": -FOOT**2 / GALLON}  # fmt: skip
_TIME: Final = {"s": 1.0, "sec": 1.0, "min": 60.0, "minutes": 60.0, "minute": 60.0, "h": 3600.0, "hr": 3600.0, "hour": 3600.0, "hours": 3600.0,
                "d": 86400.0, "day": 86400.0, "days": 86400.0}  # fmt: skip
_PRESSURE: Final = {"pa": 1.0, "kpa": 1e3, "hpa": 100.0, "mbar": 100.0, "psf": POUND_FORCE / FOOT**2, "psi": POUND_FORCE / INCH**2,
                    "inwg": 249.08891, "inhg": 3386.389}  # fmt: skip
_FLOW: Final = {"m3/s": 1.0, "m³/s": 1.0, "m3/h": 1 / 3600, "m³/h": 1 / 3600, "l/s": 1e-3, "cfm": CFM, "ft3/min": CFM}  # fmt: skip
_SPEED: Final = {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 0.44704, "ft/min": FOOT / 60}
_RATE_LENGTH: Final = {"m/h": 1 / 3600, "ft/h": FOOT / 3600, "m/min": 1 / 60, "ft/min": FOOT / 60}
_ANGLE: Final = {"deg": 1.0, "°": 1.0, "degrees": 1.0, "rad": 180 / math.pi}
_TEMPERATURE: Final = {"c": 0.0, "°c": 0.0, "degc": 0.0, "f": 0.0, "°f": 0.0, "degf": 0.0, "k": 0.0}

TABLES: Final[dict[str, dict[str, float]]] = {
    "length": _LENGTH,
    "area": _AREA,
    "volume": _VOLUME,
    "coverage": _COVERAGE,
    "time": _TIME,
    "pressure": _PRESSURE,
    "flow": _FLOW,
    "speed": _SPEED,
    "pace": _RATE_LENGTH,
    "angle": _ANGLE,
    "temperature": _TEMPERATURE,
}
SI_UNIT: Final = {
    "length": "m", "area": "m2", "volume": "m3", "coverage": "m2/m3", "time": "s", "pressure": "Pa",
    "flow": "m3/s", "speed": "m/s", "pace": "m/s", "angle": "deg", "temperature": "degC",
}  # fmt: skip

_NUMBER: Final = r"(?:\d+(?:[ ]+|-)\d+/\d+|\d+/\d+|\d*\.\d+(?:[eE][+-]?\d+)?|\d+\.?(?:[eE][+-]?\d+)?)"
_UNIT: Final = r"(?:''|['′\"″]|[a-zA-Zµμ°]+(?:[23²³](?!\d)(?!/\d))?(?:/[a-zA-Z]+[23²³]?)?)"
_TERM: Final = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?[\s,-]*")


def number_and_unit(text: str) -> tuple[float, str] | None:
    r"""Take a text apart that is one number with or without a unit, None for anything else.

    Examples
    --------
    >>> number_and_unit("109 ft"), number_and_unit("45 %"), number_and_unit("9'-1\"")
    ((109.0, 'ft'), (45.0, '%'), None)
    """
    words = plain(text).strip()
    match = re.fullmatch(rf"([-+]?)({_NUMBER})\s*(fl\.?\s*oz|{_UNIT}|%)?", words, flags=re.IGNORECASE)
    if match is None:
        return None
    try:
        number = parse_number(match.group(2))
    except QuantityError:
        return None
    unit = re.sub(r"fl\.?\s*oz", "floz", match.group(3) or "", flags=re.IGNORECASE)
    return (-number if match.group(1) == "-" else number), unit


def parse_number(text: str) -> float:
    """Read a number as the trade writes it.

    Parameters
    ----------
    text : str
        ``1.5``, ``3/8``, ``1 1/8`` or ``1-1/8``.

    Returns
    -------
    float
        The number.

    Raises
    ------
    QuantityError
        Where the text is not such a number.

    Examples
    --------
    >>> parse_number("1 1/8")
    1.125
    """
    body = plain(text).strip()
    match = re.fullmatch(r"(?:(\d+)(?:[ ]+|-))?(\d+)/(\d+)", body)
    try:
        if match and len(body) <= MOST_DIGITS:
            whole, top, bottom = match.groups()
            return float(int(whole or 0) + Fraction(int(top), int(bottom)))
        value = math.nan if "_" in body else float(body)
    except (ValueError, ZeroDivisionError, OverflowError) as error:
        raise _unreadable(text, "a number") from error
    if not math.isfinite(value):
        raise _unreadable(text, "a finite number")
    return value


def read(value: str | float, quantity: str = "length", *, bare: str | None = None) -> float:
    r"""Read a quantity into SI.

    Parameters
    ----------
    value : str or float
        What the person wrote. A bare number takes the unit `bare`.
    quantity : str
        One of the keys of :data:`TABLES`.
    bare : str or None
        Unit of a number without a unit; with None a bare number is refused.

    Returns
    -------
    float
        The value in the SI unit of :data:`SI_UNIT` (angles in degrees, temperatures in degrees Celsius).

    Raises
    ------
    QuantityError
        With what was found and what is allowed.

    Examples
    --------
    >>> round(read("9 ft 1 1/8 in"), 6)
    2.771775
    >>> round(read("9'-1 1/8\""), 6)
    2.771775
    >>> read("2.78 m"), round(read(96, bare="in"), 4)
    (2.78, 2.4384)
    >>> round(read("12 mil") * 1e6, 1)
    304.8
    >>> round(read("50 F", "temperature"), 6)
    10.0
    """
    table = TABLES[quantity]
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise _unreadable(repr(value), _allowed(quantity))
    if isinstance(value, (int, float)):
        return _read_number(value, quantity, bare)
    text = plain(value).strip()
    negative = text.startswith("-")
    body = _joined(text[1:] if negative else text.removeprefix("+"), quantity)
    if len(body) > MOST_DIGITS or COMMA.search(body):
        raise _unreadable(value.strip(), _allowed(quantity))
    body = re.sub(r"\bfl\.?\s*oz\b", "floz", body, flags=re.IGNORECASE)
    body = _SPELLED.sub(_power, body)
    terms = _terms(body)
    if not terms or (len(terms) > 1 and quantity != "length"):
        raise _unreadable(text, _allowed(quantity))
    total = 0.0
    previous = math.inf
    for number, unit in terms:
        name = unit.lower() if unit else (bare.lower() if bare and len(terms) == 1 else None)
        if name is None or name not in table:
            raise _unreadable(text, _allowed(quantity))
        scale = abs(table[name])
        if len(terms) > 1 and scale >= previous:  # 3 in 2 ft reads as a slip, not as a length
            raise _unreadable(text, "the larger unit first, as in 9 ft 1 1/8 in")
        previous = scale
        total += _to_si(-parse_number(number) if negative else parse_number(number), name, quantity)
    return _finite(total, text)


_SPELLED: Final = re.compile(
    r"\b(sq(?:\.|\b)|square|cu(?:\.|\b)|cubic)\s*(ft|feet|foot|m|meters?|metres?|in|inch|inches)\b\.?",
    re.IGNORECASE,
)
"""Areas and volumes with the power in words: sq. ft., cubic feet."""
_THOUSANDS: Final = re.compile(r"(?P<number>[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?)\s*(?P<unit>\D.*)?")
_US: Final = re.compile(r"(ft|feet|foot|in|inch|inches|cfm|cf|sf|sqft|gal)([23²³]|/min)?\.?", re.IGNORECASE)


def _power(found: re.Match[str]) -> str:
    """Write ``cu. ft.`` as ft3."""
    unit = found.group(2).lower()
    short = "ft" if unit.startswith("f") else "in" if unit.startswith("i") else "m"
    return f"{short}{'2' if found.group(1).lower().startswith('sq') else '3'}"


def _joined(body: str, quantity: str) -> str:
    """Take the commas out of thousands, as this program prints them: only with a US customary unit, where a comma is no decimal sign."""
    found = _THOUSANDS.fullmatch(body.strip()) if quantity in {"area", "volume", "flow"} else None
    if found is None or not _US.fullmatch(_SPELLED.sub(_power, found["unit"] or "")):
        return body
    return f"{found['number'].replace(',', '')} {found['unit']}"


def _read_number(value: float, quantity: str, bare: str | None) -> float:
    try:
        number = float(value)
    except OverflowError:  # a whole number of more digits than any number here has
        raise _unreadable("a number of more than 308 digits", "a finite number") from None
    if not math.isfinite(number):
        raise _unreadable(str(value), "a finite number")
    if bare is None:
        raise _unreadable(f"{value} without a unit", _allowed(quantity))
    return _finite(_to_si(number, bare.lower(), quantity), str(value))


def _finite(value: float, text: str) -> float:
    if not math.isfinite(value):
        raise _unreadable(text, "a finite number")
    return value


def _terms(body: str) -> list[tuple[str, str | None]]:
    out: list[tuple[str, str | None]] = []
    at = 0
    body = body.strip()
    while at < len(body):
        match = _TERM.match(body, at)
        if not match:
            return []
        out.append((match.group("number"), match.group("unit")))
        at = match.end()
    return [] if body.endswith(("-", ",")) else out


def _to_si(number: float, unit: str, quantity: str) -> float:
    if quantity == "temperature":
        if unit.endswith("f"):
            return (number - 32.0) / 1.8
        return number - 273.15 if unit == "k" else number
    factor = TABLES[quantity].get(unit)
    if factor is None:
        raise _unreadable(unit, _allowed(quantity))
    if factor < 0:  # the inverse way to print a coverage
        if number == 0:
            raise _unreadable(f"0 {unit}", "more than 0")
        return -factor / number
    return number * factor


def _allowed(quantity: str) -> str:
    example = {
        "length": "a length such as 9 ft 1 1/8 in, 9'-1 1/8\", 2.78 m, 12 mil",
        "area": "an area such as 120 ft2 or 11 m2",
        "volume": "a volume such as 10.1 fl oz, 5 gal, 600 mL",
        "coverage": "a coverage such as 80 ft2/gal or 2 m2/L",
        "temperature": "a temperature such as 40 F or 5 C",
    }.get(quantity)
    units = ", ".join(sorted(TABLES[quantity]))
    return example or f"a {quantity} with one of the units {units}"


def _unreadable(got: str, allowed: str) -> QuantityError:
    got = got if len(got) <= 80 else got[:77] + "..."
    hint = comma_hint(got) or "write the number with its unit"
    problem = Problem("this quantity can't be read", got=got, allowed=allowed, hint=hint)
    return QuantityError(f"can't read {got!r} as {allowed}", [problem])


_LONGEST: Final = 1e7  # [m]: what is longer is no size on a site, and is printed with an exponent


def feet_inches(metres: float, denominator: int = 8) -> str:
    r"""Print a length as feet, inches and a fraction.

    Parameters
    ----------
    metres : float
        Length [m].
    denominator : int
        Finest fraction of an inch.

    Returns
    -------
    str
        Text such as ``9'-1 1/8"``.

    Examples
    --------
    >>> feet_inches(2.771775)
    '9\'-1 1/8"'
    >>> feet_inches(0.0127)
    '1/2"'
    """
    if not abs(metres) < _LONGEST:
        return f"{metres / FOOT:.3g} ft"
    parts = round(abs(metres) / INCH * denominator)
    sign = "-" if metres < 0 and parts else ""
    feet, rest = divmod(parts, 12 * denominator)
    inches, fraction = divmod(rest, denominator)
    tail = f" {Fraction(fraction, denominator)}" if fraction else ""
    if feet:
        return f"{sign}{feet}'-{inches}{tail}\""
    if inches or not fraction:
        return f'{sign}{inches}{tail}"'
    return f'{sign}{Fraction(fraction, denominator)}"'


@dataclass(frozen=True, slots=True)
class Show:
    """Prints SI in the units of the reader.

    Parameters
    ----------
    system : str
        ``us`` or ``metric``.

    Examples
    --------
    >>> Show("us").run_length(30.48), Show("metric").run_length(30.48)
    ('100 ft', '30.5 m')
    """

    system: str

    @property
    def us(self) -> bool:
        """Whether the reader thinks in feet and inches."""
        return self.system == "us"

    def run_length(self, metres: float) -> str:
        """Print the length of a run or a total [m]: no more digits than a tape measure on site bears."""
        if self.us:
            feet = metres / FOOT
            return f"{feet:,.0f} ft" if abs(feet) >= 20 else f"{feet:.1f} ft"
        return f"{metres:,.1f} m" if abs(metres) < 1000 else f"{metres:,.0f} m"

    def size(self, metres: float) -> str:
        """Print the size of a thing [m], to 1/8 in or 1 mm."""
        if self.us:
            return feet_inches(metres)
        return f"{round(metres * 1000) or 0:,d} mm" if abs(metres) < _LONGEST else f"{metres:.3g} m"

    def place(self, metres: float) -> str:
        """Print a measure that says where something is [m], to 1/16 in or 1 mm.

        Examples
        --------
        >>> Show("us").place(-1e-6), Show("metric").place(-1e-6)
        ('0"', '0.000 m')
        """
        return feet_inches(metres, 16) if self.us else f"{round(metres, 3) + 0.0:.3f} m"

    def at(self, *places: float) -> str:
        r"""Print a point in plan or space [m].

        Examples
        --------
        >>> Show("us").at(3.6576, -0.0001, 0.3048), Show("metric").at(4, 0.5)
        ('(12\'-0", 0", 1\'-0")', '(4.000, 0.500) m')
        """
        if self.us:
            return f"({', '.join(map(self.place, places))})"
        return f"({', '.join(f'{round(p, 3) + 0.0:.3f}' for p in places)}) m"

    def fine_area(self, square_metres: float) -> str:
        """Print a small piece of a surface [m2]."""
        return f"{square_metres / FOOT**2:.2f} ft2" if self.us else f"{square_metres:.3f} m2"

    def fine_volume(self, cubic_metres: float) -> str:
        """Print a small body [m3]."""
        return f"{cubic_metres / FOOT**3:,.1f} ft3" if self.us else f"{cubic_metres:.3f} m3"

    def slit(self, metres: float) -> str:
        """Print a width of a few millimetres [m]."""
        return f"{metres / INCH:.3f} in" if self.us else f"{metres * 1000:.1f} mm"

    def film(self, metres: float) -> str:
        """Print a film thickness [m]."""
        if self.us:
            return f"{metres / MIL:.1f}".removesuffix(".0") + " mil"
        return f"{metres * 1e6:.0f} µm"

    def area(self, square_metres: float) -> str:
        """Print an area [m2]."""
        return f"{square_metres / FOOT**2:,.0f} ft2" if self.us else f"{square_metres:,.1f} m2"

    def hole(self, square_metres: float) -> str:
        """Print a leakage area [m2]."""
        value, unit = (square_metres / INCH**2, "in2") if self.us else (square_metres * 1e4, "cm2")
        if value >= 10:
            return f"{value:.0f} {unit}"
        return f"{value:.1f} {unit}" if value >= 0.1 or value == 0 else f"{value:.2f} {unit}"

    def volume(self, cubic_metres: float) -> str:
        """Print a room or house volume [m3]."""
        return f"{cubic_metres / FOOT**3:,.0f} ft3" if self.us else f"{cubic_metres:,.1f} m3"

    def liquid(self, cubic_metres: float) -> str:
        """Print a volume of liquid [m3]."""
        if self.us:
            gallons = cubic_metres / GALLON
            return f"{gallons:.2f} gal" if gallons >= 0.25 else f"{cubic_metres / FLUID_OUNCE:.1f} fl oz"
        return f"{cubic_metres * 1000:.2f} L"

    def water(self, litres: float) -> str:
        """Print an amount of water [L]."""
        return f"{litres * 1e-3 / GALLON:.1f} gal" if self.us else f"{litres:.1f} L"

    def flow(self, cubic_metres_per_hour: float) -> str:
        """Print an air flow [m3/h]."""
        if self.us:
            return f"{cubic_metres_per_hour / 3600 / CFM:,.0f} cfm"
        return f"{cubic_metres_per_hour:,.0f} m3/h"

    def unit_leakage(self, litres: float) -> str:
        """Print the leakage of a unit or panel over its area [L/(s m2)].

        Examples
        --------
        >>> Show("us").unit_leakage(1.524), Show("metric").unit_leakage(1.524)
        ('0.3 cfm/ft2', '1.5 L/(s m2)')
        """
        if self.us:
            return f"{litres * 1e-3 / CFM * FOOT**2:.2g} cfm/ft2"
        return f"{litres:.2g} L/(s m2)"

    def temperature(self, celsius: float) -> str:
        """Print a temperature [°C]."""
        return f"{celsius * 1.8 + 32:.0f} °F" if self.us else f"{celsius:.0f} °C"
