"""``film`` and ``schema``."""

from __future__ import annotations

from argparse import Namespace

from hullwright.app import film as use
from hullwright.app import schemas
from hullwright.app.house import head
from hullwright.cli.main import emit
from hullwright.cli.tables import cautions, console, say
from hullwright.errors import InputError, Problem
from hullwright.units import Show

NEEDED = ("width", "dry", "solids", "pack")


def film(args: Namespace) -> int:
    """Film sums by hand."""
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
    )
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    metric = not any(
        unit in f"{args.width}{args.dry}{args.pack}" for unit in ("in", '"', "mil", "oz", "gal", "ft")
    )
    rows = answer.rows(Show("metric" if metric else "us"))
    wide = max(len(label) for label, _ in rows)
    for label, value in rows:
        say(screen, f"{label:<{wide}}  {value}")
    cautions(screen, answer.cautions)
    return 0


EXAMPLE = "hullwright film --width '4 in' --dry '12 mil' --solids 0.6 --pack '20 fl oz' --gap '1/8 in' --depth '1/4 in' --length '100 ft'"


def schema(args: Namespace) -> int:
    """Print a JSON Schema, or the names of all."""
    if args.name:
        emit(schemas.schema(args.name))
    elif args.json:
        emit(head("schema") | {"names": list(schemas.names()), "cautions": []})
    else:
        print("\n".join(schemas.names()))
    return 0
