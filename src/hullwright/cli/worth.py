"""``worth``: what the leakage means over a season."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from hullwright.app import files
from hullwright.app.worthhouse import Asked, worth_of_house
from hullwright.app.worthpicture import worth_picture
from hullwright.cli.main import emit
from hullwright.cli.tables import assumed, console, say, table
from hullwright.errors import InputError, Problem
from hullwright.leaks.worth import Credit
from hullwright.units import Show, read


def worth(args: Namespace) -> int:
    """Say what the leakage is worth."""
    if not args.test:
        raise InputError(
            "the worth needs a test",
            [
                Problem(
                    "--test is missing",
                    hint="hullwright worth house.yaml --test readings.yaml --weather place.epw",
                )
            ],
        )
    answer = worth_of_house(args.file, args.test, _asked(args))
    if args.picture:
        files.write_new(Path(args.picture), worth_picture(answer))
    if args.json:
        emit(answer.to_json())
        return 0
    screen, show, found = console(), Show(answer.house.building.system), answer.worth
    money = "" if found.money is None else f", {found.money:,.0f} {found.currency}"
    say(
        screen,
        f"{answer.house.building.name}: {found.energy_kwh:,.0f} kWh a season go out through the leaks{money}",
        "bold",
    )
    rows = [
        (
            "infiltration, enhanced model",
            show.flow(found.enhanced_m3_h),
            f"{found.ach:.2f} air changes an hour",
        ),
        (
            "infiltration, basic model",
            show.flow(found.basic_m3_h),
            f"{found.energy_basic_kwh:,.0f} kWh a season",
        ),
        (
            "fans must bring (ASHRAE 62.2)",
            show.flow(found.need.fan_m3_h),
            "credit for infiltration taken off where it is known",
        ),
    ]
    screen.print(table(["what", "flow", "with it"], rows, right=[1]))
    volume, floor = answer.house.inner_volume, answer.floor
    say(
        screen,
        f"Counted on {show.area(floor.value)} of floor [{floor.evidence}], {show.volume(volume.value)} inside "
        f"[{volume.evidence}] and a height of {show.run_length(answer.height)}.",
    )
    if answer.tightening:
        saved = answer.tightening["energy_kwh"]
        verb = "saves" if saved["saved"] >= 0 else "costs"
        words = f"Going to {args.to:g} air changes at 50 Pa {verb} {abs(saved['saved']):,.0f} kWh a season (now {saved['from']:,.0f})"
        cash = answer.tightening.get("money")
        say(screen, words + (f", {abs(cash['saved']):,.0f} {found.currency}." if cash else "."), "bold")
        say(screen, "The need for fans grows as leaks shrink: see --json.")
    assumed(screen, answer.assumed)
    for question in answer.questions:
        say(screen, f"? weather file: {question}")
    for caution in answer.to_json()["cautions"]:
        say(screen, f"! {caution['text']}  [{caution['mark']}: {caution['source']}]", "dim")
    return 0


def _asked(args: Namespace) -> Asked:
    def warmth(text: str | None) -> float | None:
        return None if text is None else read(text, "temperature", bare="C")

    return Asked(
        weather=args.weather,
        degree_days=_degree_days(args.degree_days),
        days=args.days,
        wind=None if args.wind is None else read(args.wind, "speed", bare="m/s"),
        base=warmth(args.base),
        inside=warmth(args.inside),
        price=args.price,
        efficiency=args.efficiency,
        bedrooms=args.bedrooms,
        shelter=args.shelter,
        weather_factor=args.wsf,
        edition=Credit(f"62.2-{args.edition}"),
        to_ach50=args.to,
    )


def _degree_days(text: str | None) -> float | None:
    """Degree days in K d; ``5400 F`` are degree days in Fahrenheit."""
    if text is None:
        return None
    number = text.rstrip(" FfCcKk")
    scale = 1 / 1.8 if text.strip().upper().endswith("F") else 1.0
    try:
        return float(number) * scale
    except ValueError as error:
        raise InputError(
            "the degree days can't be read",
            [Problem("not a number", got=text, allowed="a number of K d, or such as 5400 F")],
        ) from error
