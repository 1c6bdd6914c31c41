"""``film`` and ``schema``."""

from __future__ import annotations

from argparse import Namespace

from hullwright.app import film as use
from hullwright.app import schemas
from hullwright.app.heads import head
from hullwright.cli.main import emit
from hullwright.cli.tables import cautions, console, say
from hullwright.errors import InputError, Problem
from hullwright.units import Show

NEEDED = ("width", "dry", "solids", "pack")


def film(args: Namespace) -> int:
    """Film sums by hand; ``film lots`` for what the readings prove."""
    if args.what == "lots":
        from hullwright.cli.proved import film_lots  # noqa: PLC0415  the log is opened only where it is asked for

        return film_lots(args)
    missing = [name for name in NEEDED if getattr(args, name) is None]
    if missing:
        raise InputError(
            "the film sum needs more", [Problem(f"--{name} is missing", hint=EXAMPLE) for name in missing]
        )
    answer = use.film(
        args.width,
        args.dry,
        args.solids,
        args.pack,
        gap=args.gap,
        depth=args.depth,
        length=args.length,
        waste=args.waste,
        thinned=args.thinned,
        units=args.units,
    )
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    rows = answer.rows(Show(args.units or _system(args)))
    wide = max(len(label) for label, _ in rows)
    for label, value in rows:
        say(screen, f"{label:<{wide}}  {value}")
    cautions(screen, answer.cautions)
    return 0


def _system(args: Namespace) -> str:
    """Units in which the question was put."""
    us = any(unit in f"{args.width}{args.dry}{args.pack}" for unit in ("in", '"', "mil", "oz", "gal", "ft"))
    return "us" if us else "metric"


EXAMPLE = "hullwright film --width '4 in' --dry '12 mil' --solids 0.6 --pack '20 fl oz' --gap '1/8 in' --depth '1/4 in' --length '100 ft'"


def schema(args: Namespace) -> int:
    """Print a JSON Schema, or the names of all."""
    if args.name:
        emit(schemas.schema(" ".join(args.name)))
    elif args.json:
        emit(head("schema") | {"names": list(schemas.names()), "cautions": []})
    else:
        print("\n".join(schemas.names()))
    return 0
