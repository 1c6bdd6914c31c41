"""Entries of the log in trade words, their figures in the reader's units."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from hullwright.joints.model import JointKind
from hullwright.proof.entries import Entry, shown
from hullwright.proof.kinds import KINDS, SURE, fits
from hullwright.units import Show

_NEWTON_PER_LBF: Final = (
    4.4482216152605  # exact by the pound, 0.45359237 kg, and standard gravity, 9.80665 m/s2
)
_MPH: Final = 0.44704  # m/s
_HEADS: Final[Mapping[str, str]] = {
    "gauge reading": "film reading", "cut": "film cut", "tug": "tug test", "pull": "pull test", "peel": "peel test", "probe": "probed",
    "used": "packs used", "opened": "pack opened", "emptied": "pack emptied", "looked": "looked over", "overdriven": "fasteners looked at",
}  # fmt: skip
NOT_SAID: Final = frozenset(
    {
        "note",
        "sha256",
        "notches_um",
        "hole",
        "flaw",
        "ok",
        "reading",
        "of",
        "entry",
        "against",
        "exceptions",
        "pieces",
    }
)
"""What is no matter of a line: hashes, ids, the notches of a gauge; a note stands at the end."""
_Say = Callable[[Any, Show], str]


def told(entry: Entry, show: Show, methods: Mapping[str, str]) -> str:
    """Say an entry in one line.

    Parameters
    ----------
    entry : Entry
    show : Show
        Units of the reader.
    methods : mapping of str to str
        Names of methods by their key.

    Returns
    -------
    str
        Kind and figures; a figure that nobody foresaw, or that can't be, is said with its key as it was sent, so that nothing is hidden.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Stamp
    >>> stamp = Stamp("lead", "p1", datetime(2024, 5, 3, tzinfo=UTC), 1)
    >>> what = {"method": "liquid", "crew": "B", "surface": "wood panel", "notches_um": [406.4, 508.0], "last_wet_um": 406.4, "next_dry_um": 508.0}
    >>> told(Entry("e", "gauge reading", stamp, what=what), Show("us"), {"liquid": "liquid flashing"})
    'film reading: 16 to 20 mil wet, liquid flashing, on wood panel, crew B'
    """
    fields = {field.name: field for field in KINDS.get(entry.kind, ())}
    said = {key: value for key, value in entry.what.items() if value is not None}
    what = {key: value for key, value in said.items() if key in fields and fits(value, fields[key])}
    hidden = NOT_SAID - {"note"} | {SURE}
    odd = [f"{key} {shown(value)}" for key, value in said.items() if key not in what and key not in hidden]
    film = [_wet(what.pop("last_wet_um", None), what.pop("next_dry_um", None), show)]
    if "method" in what:
        name = methods.get(what["method"], what["method"].replace("_", " "))
        what["method"] = name.split(",")[0]  # what follows says how it is done
    if "quantity" in what:
        what["quantity"] = _quantity(entry, show, what.get("pieces"))
    order = [*(key for key in _SAY if key in what), *(key for key in what if key not in _SAY)]
    figures = [_figure(key, what[key], show) for key in order if key not in NOT_SAID]
    line = ", ".join(part for part in (*film, *figures, *odd) if part)
    head = _HEADS.get(entry.kind, entry.kind)
    return ". ".join(part for part in (f"{head}: {line}" if line else head, what.get("note", "")) if part)


def _figure(key: str, value: Any, show: Show) -> str:
    say = _SAY.get(key)
    return f"{key.replace('_', ' ')} {value}" if say is None else say(value, show)


def _wet(low: float | None, high: float | None, show: Show) -> str:
    """A gauge reading is an interval; open below where no notch was wet, above where all were."""
    if low is None:
        return "" if high is None else f"under {show.film(high * 1e-6)} wet"
    if high is None:
        return f"{show.film(low * 1e-6)} wet or more"
    return f"{show.film(low * 1e-6).split()[0]} to {show.film(high * 1e-6)} wet"


def _quantity(entry: Entry, show: Show, counted: bool | None) -> str:
    """Metres, or pieces where the kind of joint is counted; both where nobody says which."""
    value = entry.what["quantity"]
    metres, pieces = show.run_length(value), f"{value:g} pieces"
    if counted is None and entry.spot.kind in set(JointKind):
        counted = JointKind(entry.spot.kind).piece
    if counted is None and entry.kind == "looked":
        counted = False  # without the flag a look is of metres
    return f"{metres} or {pieces}" if counted is None else pieces if counted else metres


def _flag(no: str, yes: str) -> _Say:
    return lambda value, _: yes if value else no


def _as(words: str = "{}") -> _Say:
    return lambda value, _: words.format(value)


def _share(words: str = "{}") -> _Say:
    return lambda value, _: words.format(f"{value:.0%}".replace("%", " %"))


def _warm(words: str = "{}") -> _Say:
    return lambda value, show: words.format(show.temperature(value))


def _list(value: Sequence[str], _: Show) -> str:
    return ", ".join(value)


def _force(value: float, show: Show) -> str:
    return f"{_two(value / _NEWTON_PER_LBF)} lbf" if show.us else f"{_two(value)} N"


def _wind(value: float, show: Show) -> str:
    return f"wind {_two(value / _MPH)} mph" if show.us else f"wind {_two(value)} m/s"


def _two(value: float) -> str:
    """Two digits that matter: a hand gauge bears no more."""
    return f"{float(f'{value:.2g}'):g}"


def _over(us: str, metric: str) -> _Say:
    return lambda value, show: f"{value} over {us if show.us else metric}"


_SAY: Final[Mapping[str, _Say]] = {
    "held": _flag("let go", "held"), "sound": _flag("not sound", "sound"), "dry": _flag("not dry", "dry"), "passed": _flag("not passed", "passed"),
    "leaked": _flag("no leak", "a leak"), "rain": _flag("no rain", "rain"), "force_n": _force, "text": _as(), "reason": _as(), "detail": _as(),
    "dry_um": lambda value, show: f"{show.film(value * 1e-6)} dry", "width_m": lambda value, show: f"{show.size(value)} wide",
    "size_m": lambda value, show: show.size(value), "tried": _as("{} tried"), "failed": _as("{} failed"), "count": _as(),
    "moisture_share": _share("moisture {}"), "surface_c": _warm(), "dew_point_c": _warm("dew point {}"), "air_c": _warm(), "humidity": _share("humidity {}"),
    "wind_m_s": _wind, "perimeter": _as("{} at edges"), "over_1_16": _over("1/16 in", "1.6 mm"), "over_1_8": _over("1/8 in", "3.2 mm"), "sealed": _as("{} sealed"),
    "packs": _as("{:g}"), "hours": _as("{:g} h"), "quantity": _as(), "flaws": _as("flaws {}"), "method": _as(), "product": _as(), "steps": _list,
    "from_m": lambda value, show: f"from {show.place(value)}", "to_m": lambda value, show: f"to {show.place(value)}", "surface": _as("on {}"),
    "crew": _as("crew {}"), "made_by": _as("by {}"), "signed_by": _as("by {}"), "seen_by": _as("seen by {}"), "temporary": _flag("", "for a time"),
    "coat": _as("coat {}"), "substitute": _flag("", "in place of what was planned"), "flat": _flag("nowhere flat for the gauge", "flat for the gauge"),
}  # fmt: skip
