"""``fantest``: one test, a series of one house, or a folder of many."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from rich.console import Console

from hullwright.app import fantest as use
from hullwright.app import files
from hullwright.app.heads import head
from hullwright.cli.main import emit
from hullwright.cli.tables import console, say, table
from hullwright.errors import FanTestError, Problem


def fantest(args: Namespace) -> int:
    """Analyse fan tests."""
    if args.new:
        return _new(args)
    if args.limits:
        return _limits(args)
    if not args.test:
        hint = "hullwright fantest readings.yaml, or --new readings.yaml for a starter"
        raise FanTestError("there is no test to analyse", [Problem("TEST is missing", hint=hint)])
    if args.house and (len(args.test) > 1 or args.many or Path(args.test[0]).is_dir()):
        problem = Problem("--house is for one test", got=" ".join(args.test), allowed="one TEST")
        raise FanTestError("these tests can't be analysed together with a house", [problem])
    if len(args.test) > 1:
        return _series(args)
    if Path(args.test[0]).is_dir() or args.many:
        return _many(args)
    return _one(args)


def _new(args: Namespace) -> int:
    path = use.new_starter(args.new)
    if args.json:
        emit(head("new") | {"file": str(path), "text": "", "cautions": []})
    else:
        print(f"wrote {path}; write your readings over it, then: hullwright fantest {path}")
    return 0


def _limits(args: Namespace) -> int:
    rows = use.limit_list()
    if args.json:
        emit(head("fantest_limits") | {"limits": rows, "cautions": []})
        return 0
    keys = [key for key in rows[0] if all(isinstance(row.get(key), str | int | float) for row in rows)]
    console().print(table(keys, [[str(row[key]) for key in keys] for row in rows]))
    return 0


def _one(args: Namespace) -> int:
    answer = use.analyse(args.test[0], against=args.against, house=args.house)
    if args.plot:
        files.write_new(Path(args.plot), answer.plot())
    found = answer.to_json()
    if args.json:
        emit(found)
        return answer.exit_code
    screen = console()
    mean = found["mean"]
    say(
        screen,
        f"{found['house']}, {found['date']}: {_spread(mean, 'ach50', 2)} air changes an hour at 50 Pa",
        "bold",
    )
    say(
        screen,
        f"{found['standard']['title']} {found['standard']['edition']}, {found['preparation']}; intervals cover {found['level']:.0%}",
    )
    for text in answer.from_house:
        say(screen, f"House: {text}")
    for limit in found["against"]:
        say(
            screen,
            f"{limit['limit']}: {limit['answer'].upper()} (margin {limit['margin']:+.1f} half-widths)  [{limit['evidence']['mark']}]",
            "bold",
        )
        for reason in limit["because"]:
            say(screen, f"  {reason}")
    _results(screen, found)
    _directions(screen, found)
    for flag in found["flags"]:
        say(screen, f"! {flag['text']}  [{flag['clause']}; {flag['mark']}]")
    for caution in found["cautions"]:
        say(screen, f"! {caution['text']}  [{caution['mark']}: {caution['source']}]", "dim")
    return answer.exit_code


def _spread(values: dict[str, Any], key: str, digits: int) -> str:
    value = values.get(key)
    if value is None:
        return "–"
    band = values.get("intervals", {}).get(key)
    text = f"{value:.{digits}f}"
    return f"{text} ({band['low']:.{digits}f} to {band['high']:.{digits}f})" if band else text


def _results(screen: Console, found: dict[str, Any]) -> None:
    mean, us = found["mean"], found["mean"]["us"]
    rows = [
        ("flow at 4 Pa", _spread(mean, "q4_m3_h", 0) + " m3/h", f"{us['cfm4']:.0f} cfm"),
        ("flow at 10 Pa", _spread(mean, "q10_m3_h", 0) + " m3/h", f"{us['cfm10']:.0f} cfm"),
        ("flow at 50 Pa", _spread(mean, "q50_m3_h", 0) + " m3/h", f"{us['cfm50']:.0f} cfm"),
        ("flow at 75 Pa", _spread(mean, "q75_m3_h", 0) + " m3/h", f"{us['cfm75']:.0f} cfm"),
        ("effective leakage area, 4 Pa", _spread(mean, "ela_cm2", 0) + " cm2", f"{us['ela_in2']:.1f} in2"),
        (
            "equivalent leakage area, 10 Pa",
            _spread(mean, "eqla_cm2", 0) + " cm2",
            f"{us['eqla_in2']:.1f} in2",
        ),
    ]
    for name, key in (("envelope", "per_envelope"), ("floor", "per_floor")):
        area = found.get(key)
        if area:
            basis = f" ({area['basis']})" if area["basis"] else ""
            rows.append(
                (
                    f"50 Pa per {name} area{basis}",
                    f"{area['q50_m3_h_m2']:.2f} m3/(h m2)",
                    f"{area['cfm50_ft2']:.3f} cfm/ft2",
                )
            )
            rows.append(
                (
                    f"75 Pa per {name} area{basis}",
                    f"{area['q75_m3_h_m2']:.2f} m3/(h m2)",
                    f"{area['cfm75_ft2']:.3f} cfm/ft2",
                )
            )
    if isinstance(found.get("nl"), float):
        rows.append(
            (
                "normalized leakage",
                f"{found['nl']:.3f}",
                f"class {found['leakage_class']}" if found.get("leakage_class") else "",
            )
        )
    screen.print(table(["result", "metric", "US"], rows, right=[1, 2]))


def _directions(screen: Console, found: dict[str, Any]) -> None:
    rows = [
        (
            d.get("name", str(d["sign"])),
            str(d["stations"]),
            f"{d['bias_pa']:+.2f} Pa",
            _spread(d, "n", 3),
            "–" if d.get("cl_m3_h_pan") is None else f"{d['cl_m3_h_pan']:.2f}",
            "–" if d.get("r2") is None else f"{d['r2']:.4f}",
            _spread(d, "q50_m3_h", 0),
        )
        for d in found["directions"]
    ]
    screen.print(
        table(
            [
                "direction",
                "stations",
                "bias",
                "exponent n",
                "C_L [m3/(h Pa^n)]",
                "r2",
                "flow at 50 Pa [m3/h]",
            ],
            rows,
            right=range(1, 7),
        )
    )


def _series(args: Namespace) -> int:
    answer = use.series(args.test)
    found = answer.to_json()
    if args.json:
        emit({"cautions": []} | found)
        return 0
    screen = console()
    rows = [
        (
            f"{step['from']} → {step['to']}",
            step["done"],
            f"{step['q50_change_m3_h']['value']:+.0f} ({step['q50_change_m3_h']['low']:+.0f} to {step['q50_change_m3_h']['high']:+.0f})",
            f"{step['share']:+.1%}",
            "yes" if step["seen"] else "no",
            "; ".join(step["notes"]),
        )
        for step in [*found["steps"], found["whole"]]
    ]
    heads = ["step", "what was done", "change at 50 Pa [m3/h]", "share", "told apart", "notes"]
    screen.print(table(heads, rows, title="What each step bought (last line: first to last)", right=[2, 3]))
    return 0


def _many(args: Namespace) -> int:
    answer = use.batch(args.test[0], against=args.against)
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    keys = ["test", "direction", "ach50", "q50_m3_h", "n", "r2", "problem"]
    rows = [[_cell(row.get(key)) for key in keys] for row in answer.rows]
    console().print(table(keys, rows, right=[2, 3, 4, 5]))
    if answer.against:
        held = [
            [
                name,
                one.limit,
                one.answer.value,
                "" if one.margin is None else f"{one.margin:+.1f}",
                "; ".join(one.because),
            ]
            for name, found in answer.against
            for one in found
        ]
        heads = ["test", "limit", "answer", "margin [half-widths]", "because"]
        console().print(table(heads, held, title="Against the limits", right=[3]))
    return answer.exit_code


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:.4g}" if isinstance(value, float) else str(value)
