"""``mockup``, ``readings``, ``use``, ``rates`` and ``experience``."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

from rich.console import Console

from hullwright.app import files
from hullwright.app import learn as learning
from hullwright.app import mockup as trying
from hullwright.app.film_aims import film_aims
from hullwright.app.learn import Rest, UseLine
from hullwright.app.mockup import ShownFilm
from hullwright.cli.main import emit
from hullwright.cli.record import named, shown, where
from hullwright.cli.tables import cautions, console, say, table
from hullwright.errors import InputError, Problem, Where
from hullwright.joints.model import JointKind
from hullwright.proof.bayes import GammaRate
from hullwright.proof.mockup import HABIT
from hullwright.proof.rates import ONE_JOB, FlawRate, HourRate
from hullwright.units import MIL, Show, read

_MOCKUP: Final = (
    "length", "width", "used", "used_u", "width_u", "time", "gap", "depth", "target_width", "target_dry", "solids", "house_length",
    "least_dry", "greatest_dry", "pack", "price",
)  # fmt: skip
_PIECES: Final = frozenset(kind.value for kind in JointKind if kind.piece)
_REST: Final = ("product", "method", "left", "per_day", "start", "stock", "lead")


def mockup(args: Namespace) -> int:
    """Say what a mock-up says."""
    given: dict[str, Any] = {name: value for name in _MOCKUP if (value := getattr(args, name)) is not None}
    for name in ("teeth", "wet"):
        if getattr(args, name) is not None:
            given[name] = listed(getattr(args, name), args.teeth or "")
    answer = trying.mockup(given)
    if args.json:
        emit(answer.to_json())
        return 0
    screen, mock = console(), answer.mock
    show = Show("us" if _us(args.length, args.width, args.used) else "metric")
    say(
        screen,
        f"Wet film by the material used: {show.film(mock.film)}, {mock.gap_share:.0%} of the material went into the gap.",
        "bold",
    )
    if answer.agreement is not None:
        words = "agree" if answer.agreement.agree else "do NOT agree: " + answer.agreement.to_json()["hint"]
        say(
            screen,
            f"Comb: {show.film(answer.agreement.by_comb)} over {len(mock.readings)} readings; material and comb {words}.",
        )
    else:
        say(screen, "Comb: fewer than two readings, nothing to hold the material against.")
    if answer.target is not None:
        say(
            screen,
            f"The sheet's film takes one round bead of {show.size(answer.target.bead)} ({answer.target.bead * 1e3:.1f} mm).",
        )
    if answer.pace is not None:
        say(
            screen,
            f"Same stroke of the gun, pace for the sheet's film: {show.run_length(answer.pace * 60)} a minute.",
        )
    if answer.saving is not None:
        low, high = answer.saving.share_low, answer.saving.share_high
        spread = (
            f" ({low:.0%} to {high:.0%})" if high - low > 1e-9 else " (no spread: say --used-u and --width-u)"
        )
        say(
            screen,
            f"Working to the sheet takes {answer.saving.share:.0%} less than this{spread}: {show.liquid(answer.saving.volume)} on the house.",
        )
        cautions(screen, [HABIT])
    if answer.film is not None:
        _shown_film(screen, answer.film, show)
    return 0


def _shown_film(screen: Console, film: ShownFilm, show: Show) -> None:
    """What this hand must aim at, with its money, and how to state it."""
    aim, (value, low, high) = film.aim, film.spread
    say(
        screen,
        f"Aim {show.film(aim.aim_wet)} wet (least {show.film(aim.least_wet)}), {aim.readings} readings a lot.",
        "bold",
    )
    say(screen, f"Spread of this mock-up {show.film(value)} ({show.film(low)} to {show.film(high)}).")
    if not aim.provable:
        say(
            screen,
            f"! Only {aim.chance:.0%} of such lots are proved: the sheet's greatest film forbids more. A steadier hand, or more readings.",
        )
    if film.added is not None and film.steadier is not None:
        say(
            screen,
            f"Film over the least {film.added:,.0f} on the house; half the spread would save {film.steadier:,.0f}.",
        )
    stated = f"{{spread: {show.film(value)}, gauge: {show.film(aim.hand.step)}}}"
    say(
        screen,
        f"In the building file: crew: {{film: {{any: {stated}}}}}, or the product's id in the place of any.",
    )


def listed(text: str, like: str) -> list[str]:
    """Split ``18 20 22 mil`` into texts with their unit; the unit of `like` where it has none; ``none`` stays."""
    unit = _unit(text) or _unit(like)
    parts = [part for part in text.replace(",", " ").replace(";", " ").split() if part != unit]
    return [part if part.lower() == "none" else f"{part} {unit}".strip() for part in parts]


def _unit(text: str) -> str:
    last = text.rsplit(maxsplit=1)[-1] if text.split() else ""
    return "" if not last or last[0].isdigit() or last.lower() == "none" else last


def _us(*texts: str | None) -> bool:
    return any(unit in (text or "") for text in texts for unit in ("in", "ft", '"', "'", "mil", "oz", "gal"))


def readings(args: Namespace) -> int:
    """Say how many readings to plan, and what to aim at."""
    if args.file:
        return _aims(args)
    missing = [name for name in ("mean", "sd", "least", "step") if getattr(args, name) is None]
    if missing:
        hint = "or name a building file: hullwright readings house.yaml"
        raise InputError(
            "readings of what",
            [Problem(f"--{name} is missing", Where(key=name), hint=hint) for name in missing],
        )
    answer = trying.plan_readings(args.mean, args.sd, least=args.least, step=args.step, chance=args.chance)
    show = Show("us" if _us(args.mean) else "metric")
    if args.picture:
        from hullwright.app.record_pictures import operating_picture  # noqa: PLC0415  only where a picture is asked for

        asked = {name: getattr(args, name) for name in ("mean", "sd", "least", "step")}
        files.write_new(Path(args.picture), operating_picture(answer, asked, show))
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    say(
        screen,
        f"Plan {answer.readings} readings: a lot like this is then proved with {args.chance:.0%} chance.",
        "bold",
    )
    say(screen, f"{args.mean} wet with a spread of {args.sd}, at least {args.least}, comb step {args.step}.")
    rows = [
        (_film(float(mean), show), f"{below:.1%}", f"{chance:.0%}")
        for mean, below, chance in zip(
            answer.curve.mean, answer.curve.share_below, answer.curve.chance, strict=True
        )
        if below <= 0.25 and chance <= 0.995
    ]
    screen.print(
        table(["true mean wet", "really too thin", "chance to be proved"], rows[::2], right=range(3))
    )
    return 0


def _aims(args: Namespace) -> int:
    """Of each product: aim, readings, extra film and money, and what other numbers would ask."""
    given = [f"--{name}" for name in ("mean", "least", "step", "picture") if getattr(args, name)]
    if given:
        raise InputError(
            "readings of what",
            [Problem("these go without FILE", got=", ".join(given), allowed="--product, --sd")],
        )
    spread = None if args.sd is None else read(args.sd)
    answer = film_aims(args.file, product=args.product, spread=spread)
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    screen, show = console(), Show("us" if answer.system == "us" else "metric")
    for film, choices in zip(answer.films, answer.choices, strict=True):
        say(screen, film.words(show), "bold")
        rows = [
            (
                str(one.aim.readings),
                show.film(one.aim.aim_wet)
                if one.aim.provable
                else f"{one.aim.chance:.0%} proved at the greatest",
                f"{one.film:,.1f} {answer.currency}",
                f"{one.reading:,.1f} {answer.currency}",
            )
            for one in choices
        ]
        area = show.area(film.area)
        screen.print(
            table(
                ["readings", "aim, wet", f"film over the least, a lot of {area}", "readings"],
                rows,
                right=range(4),
            )
        )
    return answer.exit_code


def _film(metres: float, show: Show) -> str:
    return f"{metres / MIL:.1f} mil" if show.us else f"{metres * 1e6:.0f} µm"


def use(args: Namespace) -> int:
    """Hold use against plan."""
    from hullwright.app.record_pictures import use_picture, use_sentence  # noqa: PLC0415  pictures only here

    log, rest = named(args), _rest(args)
    answer = learning.use(log, args.file, rest=rest, planned=_planned(args.yields))
    show = shown(args.file)
    if args.picture:
        files.write_new(Path(args.picture), use_picture(answer, rest, show))
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    where(screen, log)
    if not answer.lines:
        say(
            screen,
            "Nothing was logged as used yet: hullwright log add FILE used product=... method=... packs=...",
        )
        return 0
    for line in answer.lines:
        say(screen, f"{line.product} × {line.method}: {use_sentence(line, answer.currency, show)}.", "bold")
        if line.ahead is not None:
            say(screen, f"  {_when(line)}")
    heads = [
        "product × method",
        "days",
        "done",
        "packs",
        "cured in the tube",
        "planned a pack",
        "seen a pack",
        "believed a pack, 95 %",
    ]
    screen.print(table(heads, [_use_row(line, show) for line in answer.lines], right=range(1, 8)))
    for line in answer.lines:
        if line.unmatched_packs:
            say(
                screen,
                f"! {line.unmatched_packs:g} packs of {line.product} were logged on days with no length done: not counted",
            )
    return 0


def _when(line: UseLine) -> str:
    ahead = line.ahead
    if ahead is None or (ahead.out_p50 is None and ahead.out_p10 is None):
        return "What is in hand lasts."
    parts = [f"runs out on {ahead.out_p50.isoformat()}" if ahead.out_p50 else "more likely than not it lasts"]
    if ahead.out_p10:
        parts.append(f"one chance in ten already by {ahead.out_p10.isoformat()}")
    if ahead.reorder:
        parts.append(f"order {ahead.short_p90} packs by {ahead.reorder.isoformat()}")
    return "; ".join(parts).capitalize() + "."


def _use_row(line: UseLine, show: Show) -> tuple[str, ...]:
    from math import exp  # noqa: PLC0415

    low, high = line.learned.posterior.interval()
    seen = show.run_length(exp(line.learned.data.mean_log)) if line.learned.data.n else ""
    believed = f"{show.run_length(line.learned.posterior.median)} ({show.run_length(low)} to {show.run_length(high)})"
    return (
        f"{line.product} × {line.method}", str(len(line.days)), show.run_length(sum(d.metres for d in line.days)), f"{sum(d.packs for d in line.days):g}",
        str(sum(d.cured for d in line.days)), show.run_length(line.learned.prior.median), seen, believed,
    )  # fmt: skip


def _planned(words: Sequence[str]) -> dict[str, float]:
    out = {}
    for word in words:
        product, equals, text = word.partition("=")
        if not equals:
            raise InputError(
                "no yield", [Problem("a yield stands as PRODUCT=LENGTH", Where(key="yield"), word)]
            )
        out[product] = read(text)
    return out


def _rest(args: Namespace) -> tuple[Rest, ...]:
    said = {name: getattr(args, name) for name in _REST}
    missing = [name for name, value in said.items() if value is None]
    if len(missing) == len(said):
        return ()
    if missing:
        raise InputError(
            "what is left to do", [Problem(f"--{name.replace('_', '-')} is missing") for name in missing]
        )
    try:
        start = date.fromisoformat(args.start)
    except ValueError as error:
        raise InputError(
            "no day", [Problem("no day", Where(key="start"), args.start, "such as 2025-05-12")]
        ) from error
    return (
        Rest(args.product, args.method, read(args.left), read(args.per_day), start, args.stock, args.lead),
    )


def rates(args: Namespace) -> int:
    """Print hours and flaws, prior and data apart."""
    log = named(args)
    answer = learning.rates(log, args.file)
    if args.json:
        emit(answer.to_json() | {"store": str(log.path), "house": log.house})
        return 0
    screen, show = console(), shown(args.file)
    where(screen, log)
    if not answer.hours and not answer.flaws:
        say(screen, "No hours and no looks are logged yet (log add FILE hours ..., log add FILE looked ...).")
    if answer.hours:
        heads = ["method", "kind", "crew", "times", "assumed", "seen", "believed, 95 %"]
        screen.print(
            table(
                heads,
                [_hour_row(rate, show) for rate in answer.hours],
                title=f"Hours per {'100 ft' if show.us else '100 m'} or 100 pieces",
                right=range(3, 7),
            )
        )
    if answer.flaws:
        heads = ["method", "kind", "crew", "flaws", "looked at", "assumed", "seen", "believed, 95 %"]
        screen.print(
            table(
                heads,
                [_flaw_row(rate, show) for rate in answer.flaws],
                title=f"Flaws per {'100 ft' if show.us else '100 m'}, or share of pieces",
                right=range(3, 8),
            )
        )
    cautions(screen, [ONE_JOB])
    return 0


def _hour_row(rate: HourRate, show: Show) -> tuple[str, ...]:
    from math import exp  # noqa: PLC0415

    scale = 30.48 if show.us and rate.group.kind not in _PIECES else 100.0
    prior = "" if rate.planned is None else f"{scale * rate.planned:.2g}"
    seen = "" if not rate.data.n else f"{scale * exp(rate.data.mean_log):.2g}"
    believed = "too few to say"
    if rate.posterior is not None:
        low, high = rate.posterior.interval()
        believed = f"{scale * rate.posterior.median:.2g} ({scale * low:.2g} to {scale * high:.2g})"
    return rate.group.method, rate.group.kind, rate.group.crew, str(rate.data.n), prior, seen, believed


def _flaw_row(rate: FlawRate, show: Show) -> tuple[str, ...]:
    line = isinstance(rate.posterior, GammaRate)
    scale = (30.48 if show.us else 100.0) if line else 1.0
    low, high = rate.posterior.interval()
    looked = show.run_length(rate.quantity) if line else f"{rate.quantity:.0f} pieces"
    seen = f"{scale * rate.flaws / rate.quantity:.2g}" if rate.quantity else ""
    believed = f"{scale * rate.posterior.mean:.2g} ({scale * low:.2g} to {scale * high:.2g})"
    known = f"{scale * rate.prior.mean:.2g}" if line else "nothing known"
    prior = known if rate.planned is None else f"{scale * rate.planned:.2g}"
    return rate.group.method, rate.group.kind, rate.group.crew, str(rate.flaws), looked, prior, seen, believed


def experience(args: Namespace) -> int:
    """Sum up what the house taught."""
    log = named(args)
    answer = learning.experience(log, args.file, earlier=args.earlier, out=args.out)
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    where(screen, log)
    say(
        screen,
        f"{answer.houses} house{'s' if answer.houses > 1 else ''}: {len(answer.flaws)} flaw rates, {len(answer.hours)} hour rates, {len(answer.yields)} yields.",
        "bold",
    )
    say(screen, "Sums only: no names, crews, devices, dates or places are in it.")
    if args.out:
        say(screen, f"Written to {args.out}")
    return 0
