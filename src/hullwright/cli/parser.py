"""The commands and their options. Nothing heavy is imported here: ``--help`` must answer at once."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Final, NoReturn

from hullwright.cli.amounts import Amount
from hullwright.cli.record_options import RECORD, film_lots, store
from hullwright.errors import InputError, Problem


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are errors like all others, so that ``--json`` holds for them too."""

    def error(self, message: str) -> NoReturn:
        """Raise instead of printing and leaving."""
        hint = f"see `{self.prog} --help`"
        raise InputError("the command can't be read", [Problem(message, hint=hint)])


Adder = Callable[[Parser], None]

DESCRIPTION: Final = """\
hullwright: one unbroken air- and water-tight layer, before cladding hides it.

A building file goes in; the closed hull, every joint, the best way to seal each,
the order, the fan test and the record come out."""

EPILOG: Final = """\
start with:  hullwright new my-house.yaml      a commented building file
then:        hullwright plan my-house.yaml     the plan, and a folder with pictures and lists
every command takes --json; `hullwright COMMAND --help` says more.
exit code: 0 done, 1 the answer is no, 2 the input is wrong."""


def _file(parser: Parser) -> None:
    parser.add_argument("file", metavar="FILE", help="building file (YAML)")


def _check(parser: Parser) -> None:
    _file(parser)
    parser.add_argument(
        "--sketch",
        metavar="SVG",
        help="write a sketch of the plan; where the masses make no sound body, with the place ringed",
    )
    store(parser)


def _aim(parser: Parser) -> None:
    aim = parser.add_mutually_exclusive_group()
    aim.add_argument("--budget", metavar="MONEY", help="most money for sealing, in the file's currency")
    aim.add_argument("--target", metavar="ACH50", help="air changes an hour at 50 Pa to reach at least money")
    parser.add_argument(
        "--confidence",
        type=Amount("chance"),
        metavar="SHARE",
        help="with which the target must be met (default: the file's)",
    )
    parser.add_argument("--quick", action="store_true", help="own search only, no waiting for the proof")


def _plan(parser: Parser) -> None:
    _file(parser)
    _aim(parser)
    parser.add_argument(
        "--out", metavar="FOLDER", help="where the plan folder goes (default: FILE's name with -plan, here)"
    )
    parser.add_argument("--no-files", action="store_true", help="print only, write no folder")


def _asked(parser: Parser) -> None:
    _file(parser)
    _aim(parser)


def _marks(parser: Parser) -> None:
    _file(parser)
    parser.add_argument(
        "--write",
        action="store_true",
        help="write the marks that are only numbered into FILE; comments, order and every other character stay",
    )


def _new(parser: Parser) -> None:
    parser.add_argument("file", metavar="FILE", nargs="?", help="where to write it (default: print it)")
    parser.add_argument("--units", choices=("us", "metric"), default="us")


def _price_list(parser: Parser) -> None:
    _file(parser)
    parser.add_argument(
        "list", metavar="LIST", help="the supplier's price list: csv or xlsx with name or number, pack, price"
    )
    parser.add_argument("--write", action="store_true", help="put the matched prices into the building file")


def _figures(parser: Parser) -> None:
    parser.add_argument(
        "file", metavar="FILE", nargs="?", help="building file: its own figures stand in the list"
    )
    parser.add_argument(
        "--like", metavar="WORD", default="", help="only names with this in them, such as flaws"
    )


def _film(parser: Parser) -> None:
    parser.add_argument(
        "what",
        nargs="?",
        choices=("lots",),
        help="lots: what the gauge readings prove (needs FILE)",
    )
    parser.add_argument(
        "readings", nargs="?", metavar="FILE", help="building file (its log), or a csv of gauge readings"
    )
    parser.add_argument("--width", metavar="W", help="width of the film, such as 4 in")
    parser.add_argument("--dry", metavar="T", help="dry film thickness, such as 12 mil")
    parser.add_argument("--solids", metavar="S", help="volume solids, such as 0.6 or 60 %%")
    parser.add_argument("--pack", metavar="V", help="pack volume, such as 20 fl oz")
    parser.add_argument("--gap", metavar="G", help="gap to be filled, such as 1/8 in")
    parser.add_argument("--depth", metavar="D", help="depth of the gap filling")
    parser.add_argument("--length", metavar="L", help="length of joint")
    parser.add_argument("--thinned", metavar="SHARE", help="thinner added, share of the liquid")
    parser.add_argument("--units", choices=("us", "metric"), help="units of bare numbers and of the answer")
    parser.add_argument("--waste", metavar="SHARE", help="share of the material that is lost")
    film_lots(parser)


def _schema(parser: Parser) -> None:
    parser.add_argument(
        "name", nargs="*", metavar="NAME", help="building, or a command's name (default: list them)"
    )


def _demo(parser: Parser) -> None:
    parser.add_argument(
        "--out", metavar="FOLDER", help="where the plan folder goes (default: hullwright-out/demo-plan)"
    )
    parser.add_argument("--quick", action="store_true", help="own search only, no waiting for the proof")


def _fantest(parser: Parser) -> None:
    parser.add_argument(
        "test",
        metavar="TEST",
        nargs="*",
        help="readings (yaml, csv, xlsx); several: a series of one house; a folder: many houses",
    )
    parser.add_argument(
        "--against",
        metavar="LIMIT",
        action="append",
        default=[],
        help="a limit by id, or such as '3 ach50'; may be repeated",
    )
    parser.add_argument(
        "--house",
        metavar="FILE",
        help="building file: its volume, envelope, floor area and height where TEST states none",
    )
    parser.add_argument("--new", metavar="PATH", help="write a commented starter file")
    parser.add_argument("--plot", metavar="SVG", help="write the log-log plot")
    parser.add_argument("--many", action="store_true", help="TEST is a csv table of many tests")
    parser.add_argument("--limits", action="store_true", help="list the limits that are known by id")


def _leaks(parser: Parser) -> None:
    _file(parser)
    parser.add_argument("--test", metavar="TEST", help="fan-test file")
    parser.add_argument("--found", metavar="FINDINGS", help="what the walk has found so far (YAML)")
    parser.add_argument("--picture", metavar="SVG", help="write the leaks on the unrolled hull")
    parser.add_argument("--most", type=int, default=15, metavar="N", help="rows to print (default 15)")


def _hunt(parser: Parser) -> None:
    _leaks(parser)
    parser.add_argument(
        "--target", type=Amount("air changes"), metavar="ACH50", help="target to reach (default: the file's)"
    )


def _worth(parser: Parser) -> None:
    _file(parser)
    parser.add_argument("--test", metavar="TEST", help="fan-test file")
    parser.add_argument("--weather", metavar="EPW", help="hourly weather file")
    parser.add_argument("--degree-days", metavar="HDD", help="heating degree days: K d, or such as '5400 F'")
    parser.add_argument(
        "--days", type=Amount("days of a season"), metavar="D", help="days of the heating season"
    )
    parser.add_argument(
        "--wind", metavar="SPEED", help="mean wind at the weather station, such as 4 m/s or 9 mph"
    )
    parser.add_argument("--base", metavar="T", help="base temperature (default 18 C)")
    parser.add_argument("--inside", metavar="T", help="indoor temperature (default 20 C)")
    parser.add_argument(
        "--price", type=Amount("price of energy"), metavar="MONEY", help="money a kWh of bought energy"
    )
    parser.add_argument(
        "--efficiency",
        type=Amount("efficiency"),
        metavar="SHARE",
        help="useful heat over bought energy (default 1)",
    )
    parser.add_argument(
        "--bedrooms", type=int, metavar="N", help="bedrooms, for the ventilation need (default 3)"
    )
    parser.add_argument(
        "--shelter", type=int, choices=range(1, 6), help="1 open to 5 closely built (default 3)"
    )
    parser.add_argument(
        "--wsf",
        type=Amount("weather factor"),
        metavar="W",
        help="weather factor of ASHRAE 62.2 for the station",
    )
    parser.add_argument(
        "--edition", choices=("2010", "2013", "2016"), default="2016", help="edition of ASHRAE 62.2"
    )
    parser.add_argument("--to", type=Amount("air changes"), metavar="ACH50", help="tightness to compare with")
    parser.add_argument("--picture", metavar="SVG", help="write heat and air against tightness")


def _serve(parser: Parser) -> None:
    parser.add_argument(
        "folder", metavar="FOLDER", nargs="?", default=".", help="folder with building files (default: here)"
    )
    parser.add_argument(
        "--port", type=int, default=8765, metavar="N", help="port on this machine (default 8765)"
    )
    parser.add_argument(
        "--data",
        metavar="FOLDER",
        help="folder of log, people and jobs, or postgresql://USER@HOST/DATABASE for the log",
    )
    parser.add_argument("--no-browser", action="store_true", help="print the address, open nothing")
    lan = parser.add_argument_group("phones on the building site (docs/phones.md)")
    lan.add_argument(
        "--lan",
        action="store_true",
        help="offer the page to phones of this network too, over TLS by an authority of its own",
    )
    lan.add_argument(
        "--lan-port",
        type=int,
        metavar="N",
        help="port of that page (first time: 8766); it stays, since what phones keep hangs on it",
    )
    lan.add_argument("--setup-port", type=int, metavar="N", help="port of the set-up page (8767)")
    lan.add_argument(
        "--setup-page",
        action="store_true",
        help="while new phones are set up: serve the set-up page too, in clear and read-only; nothing is in clear without it",
    )
    lan.add_argument(
        "--lan-address",
        action="append",
        default=[],
        metavar="ADDRESS",
        help="only on this private IPv4 address of this machine (may be repeated; default: all)",
    )
    lan.add_argument(
        "--no-announce",
        action="store_true",
        help="do not announce the name by multicast: the site's router knows it",
    )
    lan.add_argument(
        "--forget-authority",
        action="store_true",
        help="say what it means to remove the authority; with --yes remove it",
    )
    lan.add_argument("--yes", action="store_true", help="go on with --forget-authority")


Command = tuple[str, str, Adder, str]

COMMANDS: Final[tuple[Command, ...]] = (
    ("check", "is the hull closed, and what are its faces", _check, "hullwright.cli.house:check"),
    ("joints", "every joint, by kind and place", _file, "hullwright.cli.house:joints"),
    (
        "marks",
        "the mark of every opening, penetration and later attachment",
        _marks,
        "hullwright.cli.house:marks",
    ),
    ("plan", "the method for each joint, what to buy, what to expect", _plan, "hullwright.cli.plan:plan"),
    ("order", "what to buy", _asked, "hullwright.cli.plan:order"),
    ("curve", "the best result for each amount of money", _asked, "hullwright.cli.plan:curve"),
    (
        "price-list",
        "a supplier's price list matched with the products; what does not match",
        _price_list,
        "hullwright.cli.prices:price_list",
    ),
    (
        "figures",
        "every figure that the building file may state, with its evidence",
        _figures,
        "hullwright.cli.figures:figures",
    ),
    ("film", "film sums by hand", _film, "hullwright.cli.sums:film"),
    (
        "fantest",
        "what a fan test says, with its interval, against a limit",
        _fantest,
        "hullwright.cli.fantest:fantest",
    ),
    ("leaks", "where the leakage is, before and after a test", _leaks, "hullwright.cli.leaks:leaks"),
    (
        "hunt",
        "the walk that finds most leakage per minute, and the list of the test day",
        _hunt,
        "hullwright.cli.leaks:hunt",
    ),
    (
        "worth",
        "what the leakage is worth in a season, and the ventilation need",
        _worth,
        "hullwright.cli.worth:worth",
    ),
    (
        "serve",
        "the page: houses of a folder, on this machine; with --lan for phones too",
        _serve,
        "hullwright.cli.serve:serve",
    ),
    *RECORD,
    ("new", "write a commented building file", _new, "hullwright.cli.house:new"),
    ("demo", "plan the demo house", _demo, "hullwright.cli.plan:demo"),
    ("schema", "JSON Schema of the building file and of every answer", _schema, "hullwright.cli.sums:schema"),
)


def build() -> Parser:
    """Give the whole parser.

    Returns
    -------
    argparse.ArgumentParser
        Each command sets ``handler`` to ``module:function``.
    """
    parser = Parser(
        prog="hullwright",
        description=DESCRIPTION,
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="store_true", help="print the version")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    for name, text, add, handler in COMMANDS:
        sub = commands.add_parser(
            name, help=text, description=text[0].upper() + text[1:] + ".", allow_abbrev=False
        )
        add(sub)
        sub.add_argument(
            "--json", action="store_true", help="one JSON object on standard output, nothing else"
        )
        sub.set_defaults(handler=handler)
    return parser
