"""Product sheets: do the printed film, solids and coverage agree with each other.

A printed figure stands for an interval: half a unit of its last written digit to each side; whole numbers of three and more
digits that end in 0 may have been rounded to tens. Two figures disagree where no values inside their intervals satisfy
``dry = wet·VS`` and ``coverage = (1 − loss)/wet`` (ASTM D4414-95(2020), 4.2).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from hullwright.errors import CatalogError, Problem, QuantityError, Where
from hullwright.units import FOOT, GALLON, MIL, read

_NUMBER = re.compile(r"\d+(?:\.\d*)?|\.\d+")
_WEIGHT = re.compile(r"weight|\bwt\b|wt\.?\s*%|%\s*w\b|w/w|mass", re.IGNORECASE)
_VOLUME = re.compile(r"\b(?:solids|by|vol(?:ume)?\.?)\b|v/v", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Printed:
    """A printed figure with its rounding.

    Parameters
    ----------
    text : str
        As printed.
    value, low, high : float
        Value and ends of its interval, SI.
    """

    text: str
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class SheetFilm:
    """Film figures of a sheet that agree.

    Parameters
    ----------
    wet, dry : float
        Film [m].
    solids : float
        Solids by volume, share.
    coverage : float
        Theoretical coverage [m2/m3].
    derived : tuple of str
        Which of these the sheet does not print, so that they were worked out.
    """

    wet: float
    dry: float
    solids: float
    coverage: float
    derived: tuple[str, ...]


def printed(text: str, quantity: str) -> Printed:
    """Read a printed figure with its rounding.

    Parameters
    ----------
    text : str
        Figure with unit, such as ``12 mil``, ``305 µm``, ``80 ft2/gal``, ``0.5 L/m2``.
    quantity : str
        ``length`` or ``coverage``.

    Returns
    -------
    Printed
        Value and interval in SI.

    Raises
    ------
    QuantityError
        Where the text is no such quantity, or not above 0.

    Examples
    --------
    >>> figure = printed("0.5 mm", "length")
    >>> round(figure.low * 1e6), round(figure.high * 1e6)
    (450, 550)
    """
    value = read(text, quantity)
    match = _NUMBER.search(text)
    if value <= 0 or match is None or text[match.end() :].lstrip().startswith("/"):
        problem = Problem(
            "can't use this printed figure", got=text, allowed="one decimal number above 0 with its unit"
        )
        raise QuantityError(f"can't use {text!r}", [problem])
    ends = [
        read(text[: match.start()] + f"{end:.12f}" + text[match.end() :], quantity)
        for end in _ends(match.group())
    ]
    return Printed(text, value, min(ends), max(ends))


def printed_share(value: str | float) -> Printed:
    """Read solids by volume: ``0.6``, ``60 %``, ``60 % by volume``.

    Parameters
    ----------
    value : str or float
        Share up to 1, or per cent with its sign.

    Returns
    -------
    Printed
        Share and interval.

    Raises
    ------
    QuantityError
        Where it is by weight, a bare number over 1, or no number.

    Examples
    --------
    >>> printed_share("60 % by volume").value
    0.6
    """
    text = f"{value}".strip()
    if _WEIGHT.search(text):
        raise _share_error(text, "ask the maker for the solids by volume: weight says nothing on thickness")
    body = _VOLUME.sub("", text).strip()
    percent = body.endswith("%")
    body = body.removesuffix("%").strip()
    if isinstance(value, bool) or not _NUMBER.fullmatch(body):
        raise _share_error(text, "")
    scale = 100.0 if percent else 1.0
    number = float(body) / scale
    if not 0 < number <= 1:
        hint = f"write {body} %" if not percent and 1 < number <= 100 else ""
        raise _share_error(text, hint)
    low, high = (end / scale for end in _ends(body))
    return Printed(text, number, max(low, 1e-9), min(high, 1.0))


def _share_error(text: str, hint: str) -> QuantityError:
    problem = Problem(
        "these solids can't be used",
        Where(key="solids"),
        got=text,
        allowed="solids by volume, as 60 % or 0.60, above 0 and at most 100 %",
        hint=hint,
    )
    return QuantityError(f"can't use {text!r} as solids by volume", [problem])


def _ends(number: str) -> tuple[float, float]:
    whole, _, decimals = number.partition(".")
    step = 10.0 ** -len(decimals)
    if not decimals and len(whole) >= 3 and whole.endswith("0"):
        step = 10.0
    value = float(number)
    return max(value - step / 2, value * 1e-6), value + step / 2


def cross_check(
    *,
    wet: Sequence[str] = (),
    dry: Sequence[str] = (),
    solids: str | float | None = None,
    weight_solids: str | float | None = None,
    coverage: Sequence[str] = (),
    loss: float = 0.0,
) -> SheetFilm:
    """Hold the figures of a sheet against each other.

    Parameters
    ----------
    wet, dry : sequence of str
        Wet and dry film as printed, in one or more units.
    solids : str, float or None
        Solids by volume.
    weight_solids : str, float or None
        Solids by weight; never used, only named in the refusal.
    coverage : sequence of str
        Coverage as printed, in one or more units, either way up.
    loss : float
        Loss that the printed coverage already takes off.

    Returns
    -------
    SheetFilm
        Figures that agree; what is not printed is worked out and named.

    Raises
    ------
    CatalogError
        With every disagreement and its numbers, or where too little is printed.

    Examples
    --------
    >>> film = cross_check(dry=["12 mil", "305 µm"], solids="60 %", coverage=["80 ft2/gal"])
    >>> round(film.wet * 1e6), film.derived
    (508, ('wet',))
    """
    problems: list[Problem] = []
    if not 0 <= loss < 1:
        problems.append(
            Problem(
                "the loss in the coverage can't be used", Where(key="loss"), f"{loss}", "0 or more, below 1"
            )
        )
        loss = 0.0  # only so that the other figures are still checked; the problem is raised below
    wets = _all("wet", wet, "length", problems)
    dries = _all("dry", dry, "length", problems)
    spreads = _all("coverage", coverage, "coverage", problems)
    shares: list[Printed] = []
    if solids is not None:
        try:
            shares = [printed_share(solids)]
        except QuantityError as error:
            problems.extend(error.problems)
    for key, group in (("wet", wets), ("dry", dries), ("coverage", spreads)):
        problems.extend(_same(key, group))
    if wets and dries and shares:
        problems.extend(_disagree("wet film × solids", "dry", _times(wets[0], shares[0]), dries[0]))
    if wets and spreads:
        problems.extend(_disagree("coverage", "wet", _inverse(spreads[0], 1 - loss), wets[0]))
    if dries and spreads and shares:
        wet_by_spread = _inverse(spreads[0], 1 - loss)
        problems.extend(_disagree("coverage and solids", "dry", _times(wet_by_spread, shares[0]), dries[0]))
    if not problems:
        found = _resolve(wets, dries, shares, [_inverse(s, 1 - loss) for s in spreads])
        if found:
            return found
        problems.append(_too_little(weight_solids))
    raise CatalogError("the sheet's film figures can't be used", problems)


def _all(key: str, texts: Sequence[str], quantity: str, problems: list[Problem]) -> list[Printed]:
    out: list[Printed] = []
    for text in [texts] if isinstance(texts, str) else texts:
        try:
            out.append(printed(text, quantity))
        except QuantityError as error:
            problems.extend(
                Problem(p.message, Where(key=key), p.got, p.allowed, p.hint) for p in error.problems
            )
    return out


def _same(key: str, group: list[Printed]) -> list[Problem]:
    first = group[:1]
    return [
        Problem(
            f"the {key} figures disagree beyond rounding",
            Where(key=key),
            got=f"{first[0].text} and {other.text}",
            allowed="the same value in each unit",
            hint="check the sheet; keep the figure that the maker confirms",
        )
        for other in group[1:]
        if other.low > first[0].high or other.high < first[0].low
    ]


def _times(film: Printed, share: Printed) -> Printed:
    text = f"{film.text} × {share.text}"
    return Printed(text, film.value * share.value, film.low * share.low, film.high * share.high)


def _inverse(spread: Printed, kept: float) -> Printed:
    return Printed(spread.text, kept / spread.value, kept / spread.high, kept / spread.low)


def _disagree(way: str, key: str, worked: Printed, sheet: Printed) -> list[Problem]:
    if worked.low <= sheet.high * (1 + 1e-9) and worked.high >= sheet.low * (1 - 1e-9):
        return []
    return [
        Problem(
            f"{way} and {key} film disagree beyond rounding",
            Where(key=key),
            got=f"{worked.text} gives {_film(worked.value)} {key}, the sheet prints {sheet.text} ({_film(sheet.value)})",
            allowed=f"{_film(worked.low)} to {_film(worked.high)}",
            hint="look for solids by weight, a coverage with loss, or a film of two coats; ask the maker",
        )
    ]


def _film(metres: float) -> str:
    return f"{metres / MIL:.1f} mil ({metres * 1e6:.0f} µm)"


def _resolve(
    wets: list[Printed], dries: list[Printed], shares: list[Printed], wets_by_spread: list[Printed]
) -> SheetFilm | None:
    derived: list[str] = []
    wet = wets[0].value if wets else None
    dry = dries[0].value if dries else None
    share = shares[0].value if shares else None
    if wet is None and dry is not None and share is not None:
        wet = dry / share
    if wet is None and wets_by_spread:
        wet = wets_by_spread[0].value
    if wet is None:
        return None
    if share is None and dry is not None:
        share = dry / wet
        derived.append("solids")
    if share is None or share > 1:
        return None
    if not wets:
        derived.append("wet")
    if dry is None:
        dry = wet * share
        derived.append("dry")
    if not wets_by_spread:
        derived.append("coverage")
    return SheetFilm(wet=wet, dry=dry, solids=share, coverage=1.0 / wet, derived=tuple(derived))


def _too_little(weight_solids: str | float | None) -> Problem:
    by_weight = weight_solids is not None
    return Problem(
        "the film can't be worked out from this sheet",
        Where(key="solids"),
        got=f"solids by weight only ({weight_solids})"
        if by_weight
        else "too few figures, or more dry than wet film",
        allowed="two of wet film, dry film and solids by volume, or one of them with the coverage",
        hint="ask the maker for the solids by volume"
        if by_weight
        else "take the missing figure from the sheet",
    )


def feet_per_gallon(coverage: float) -> float:
    """Coverage [m2/m3] in ft2/gal, as US sheets print it.

    Parameters
    ----------
    coverage : float
        Coverage [m2/m3].

    Returns
    -------
    float
        Coverage [ft2/gal].

    Examples
    --------
    >>> round(feet_per_gallon(2000.0), 1)
    81.5
    """
    return coverage * GALLON / FOOT**2
