"""Options of the commands about the log. Nothing heavy is imported here: ``--help`` must answer at once."""

from __future__ import annotations

import argparse
from typing import Any, Final

from hullwright.cli.amounts import Amount

Adder = Any  # a function that takes the parser; its class lives beside the list of commands

KINDS_TEXT: Final = """\
what can be logged (name=value; text with a unit, such as last_wet='20 mil'):
  the least      done method= crew= surface= [product= from= to= coat= substitute= of='W1; W2']
                 used product= method= packs= [quantity= cured=]  | photos: hullwright log photo
                 weather [air= humidity= wind= rain=]
  before         nailing passed= | straps passed= | surface dry= [moisture= meter= mode= surface= dew_point=]
                 prepared [steps= of=] | primed product= [of=]
  stages         unit set [of=] | trade through [made_by= of=]       (services and units are not yet due before)
  film           'gauge reading' method= crew= surface= notches='16 18 20 22 mil' last_wet='20 mil' [product= coat=]
                 'film added' method= crew= surface= [product= reading=] | cut method= crew= surface= dry= | width width=
  tape           rolled seen_by= [of=] | probe tried= failed= | tug method= crew= held= | staples count=
  checks         seen seen_by= sound= [flat= of=] | smoke leaked= | pull force_n= held= | peel force_n= held=
  stock, hours   opened product= lot= | emptied product= lot= | hours method= crew= hours= quantity=
  went wrong     flaw text= | mended flaw= product= | looked method= crew= quantity= flaws= [pieces=]
                 overdriven perimeter= over_1_16= over_1_8= [sealed=]
                 hole text= made_by= [temporary=] | hole sealed hole= product= detail=
                 'fasteners added' count= | trouble text= | "can't work" reason= | 'as laid differs'
  cover          covered ok=            (an OK to cover is signed with `hullwright ok-to-cover`) | 'opened again' reason=
  papers         paper type= first= [second=] | remark text=

A hole, flaw, reading or OK to cover is named by its number in the log, as `hullwright log list` prints it.
Nobody types a state: bare, prepared, sealed, proved, covered and punctured follow from these."""


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--json", action="store_true", help="one JSON object on standard output, nothing else"
    )


def store(parser: argparse.ArgumentParser) -> None:
    """Add where the log is kept."""
    parser.add_argument(
        "--data",
        metavar="PLACE",
        help="folder or file of the log, or postgresql://USER@HOST/DATABASE (default: HULLWRIGHT_DATA, or the usual place)",
    )


def house(parser: argparse.ArgumentParser) -> None:
    """Add which house is meant."""
    parser.add_argument("file", metavar="FILE", help="building file; its name is the house's name in the log")
    parser.add_argument("--house", metavar="NAME", help="name of the house in the log, where it is another")
    store(parser)


def plan(parser: argparse.ArgumentParser) -> None:
    """Add the plan that says which method a joint gets."""
    parser.add_argument(
        "--plan", metavar="JSON", help="plan.json of the plan folder: the method of each joint"
    )


def author(parser: argparse.ArgumentParser) -> None:
    """Add who writes."""
    parser.add_argument("--by", metavar="NAME", help="who says so (default: HULLWRIGHT_AUTHOR)")


def place(parser: argparse.ArgumentParser) -> None:
    """Add where on the house."""
    parser.add_argument(
        "--joint",
        metavar="ID",
        help="joint: its id in `hullwright joints FILE --json`, its mark or its name in words, or the beginning of one where only one begins so; an id of before is read too",
    )
    parser.add_argument(
        "--face", metavar="ID", help="face, where the entry is about all of it, or to say where --place lies"
    )
    parser.add_argument(
        "--run", metavar="ID", help="run: all its joints, as `hullwright joints FILE` names it"
    )
    parser.add_argument(
        "--mark", metavar="MARK", help="opening or penetration: all its joints, such as W3 or P7"
    )
    parser.add_argument(
        "--at",
        metavar="L",
        help="how far along the joint from its first point, such as '12 ft' (default: its middle)",
    )
    parser.add_argument(
        "--place",
        metavar="ACROSS,UP",
        help="place on --face as seen from outside, from its left edge and its lowest edge, such as '12 ft, 4 ft'; "
        "the joint follows from it",
    )


def picture(parser: argparse.ArgumentParser, what: str) -> None:
    """Add where the picture goes."""
    parser.add_argument("--picture", metavar="SVG", help=f"write a picture: {what}")


def log(parser: argparse.ArgumentParser) -> None:
    """Add the verbs of ``log``."""
    verbs = parser.add_subparsers(dest="verb", metavar="VERB")
    for name, text, add in VERBS:
        sub = verbs.add_parser(
            name,
            help=text,
            description=text[0].upper() + text[1:] + ".",
            epilog=KINDS_TEXT if name in {"add", "correct"} else None,
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        if name != "rules":  # the same for every house
            house(sub)
        add(sub)
        _json(sub)
        sub.set_defaults(handler=f"hullwright.cli.record:{name}_entry")


def _entry(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("entry", metavar="ENTRY", help="its number or id, as `log list` prints it")


def sure(parser: argparse.ArgumentParser, what: str = "figure") -> None:
    """Add the answer to what looks odd."""
    parser.add_argument(
        "--sure",
        metavar="NAME",
        action="append",
        default=[],
        help=f"this {what} looks odd and is right; may be repeated",
    )


def _add(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("kind", metavar="KIND", help="kind of entry, see below")
    parser.add_argument("figures", metavar="NAME=VALUE", nargs="*", help="its figures")
    sure(parser)
    place(parser)
    author(parser)


def _list(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--kind", metavar="KIND", default="", help="only this kind")
    parser.add_argument("--joint", metavar="ID", default="", help="only this joint")
    parser.add_argument("--face", metavar="ID", default="", help="only this face")
    parser.add_argument("--history", action="store_true", help="corrected and withdrawn entries too")


def _correct(parser: argparse.ArgumentParser) -> None:
    _entry(parser)
    parser.add_argument(
        "figures",
        metavar="NAME=VALUE",
        nargs="+",
        help="what was wrong; NAME= takes a figure away; the rest stays",
    )
    sure(parser)
    author(parser)


def _withdraw(parser: argparse.ArgumentParser) -> None:
    _entry(parser)
    parser.add_argument("--reason", metavar="TEXT", required=True, help="why it should not be there")
    author(parser)


def _choose(parser: argparse.ArgumentParser) -> None:
    _entry(parser)
    parser.add_argument("--reason", metavar="TEXT", default="", help="why this one")
    author(parser)


def _settle(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("entry", metavar="ENTRY", nargs="?", help="its number or id (or --proposed for all)")
    parser.add_argument(
        "--proposed",
        action="store_true",
        help="take the nearest joint of the same kind for every entry that has one",
    )
    place(parser)
    author(parser)


def _rules(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--method", metavar="METHOD", default="", help="only what proves this method")


def _table(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("table", metavar="TABLE", help="csv or xlsx")


def _photo(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("picture", metavar="PHOTO", help="JPEG, PNG or WebP; its location data are taken out")
    parser.add_argument("--note", metavar="TEXT", default="", help="what it shows")
    parser.add_argument(
        "--of",
        metavar="NAME",
        action="append",
        default=[],
        help="joint, run, mark or face that it shows too, such as each of a row of tails; may be repeated",
    )
    place(parser)
    author(parser)


VERBS: Final = (
    ("add", "log a fact", _add),
    ("list", "what is in the log", _list),
    ("correct", "correct an entry; the old one is kept", _correct),
    ("withdraw", "withdraw an entry that should not be there; it is kept", _withdraw),
    ("choose", "choose between two corrections of one entry", _choose),
    ("settle", "give an entry whose joint is gone another joint", _settle),
    ("import", "take a table in: rows here already are passed over, rows that differ are listed", _table),
    ("export", "write the whole log to a new table", _table),
    ("photo", "log a photo and keep it, upright and without its location", _photo),
    ("rules", "what proves what: the table that all states follow from", _rules),
)


def film_lots(parser: argparse.ArgumentParser) -> None:
    """Add what ``film lots`` takes beside ``film``."""
    lots = parser.add_argument_group(
        "film lots",
        "FILE is a building file (readings from the log) or a csv of gauge readings; --dry and --solids state the least film",
    )
    store(lots)  # type: ignore[arg-type]  # a group adds arguments like a parser
    lots.add_argument("--house", metavar="NAME", help="name of the house in the log, where it is another")
    lots.add_argument(
        "--rule", choices=("bound", "pa2", "k"), default="bound",
        help="bound: tolerance bound on the film (default); pa2: spots and areas of SSPC-PA 2; k: acceptance by variables",
    )  # fmt: skip
    lots.add_argument(
        "--share", metavar="P", help="share of the length that must carry the film (default 0.90)"
    )
    lots.add_argument("--confidence", metavar="C", help="with which that must be shown (default 0.95)")
    lots.add_argument(
        "--level", type=int, default=3, metavar="N", help="pa2: restriction level 1 to 5 (default 3)"
    )
    lots.add_argument(
        "--most", metavar="T", help="pa2: largest dry film (default: 20 %% either way of --dry)"
    )
    lots.add_argument(
        "--k",
        type=Amount("acceptance constant"),
        metavar="K",
        help="k: acceptance constant of your sampling plan",
    )
    lots.add_argument("--teeth", metavar="LIST", help="csv: teeth of the gauge, such as '16 18 20 22 mil'")
    lots.add_argument(
        "--joint", metavar="ID", help="picture: the proof along this joint, instead of all lots"
    )
    lots.add_argument(
        "--picture", metavar="SVG", help="write a picture: the lots, or the proof along --joint"
    )


def _tape(parser: argparse.ArgumentParser) -> None:
    house(parser)
    plan(parser)
    parser.add_argument(
        "--limit",
        metavar="SHARE",
        default="10 %",
        help="largest share of failing places to accept (default 10 %%)",
    )


def _states(parser: argparse.ArgumentParser) -> None:
    house(parser)
    plan(parser)
    parser.add_argument("--state", metavar="STATE", help="only joints in this state")
    parser.add_argument(
        "--picture", metavar="SVG", help="write the unrolled hull with every joint by its state"
    )


def _ready(parser: argparse.ArgumentParser) -> None:
    house(parser)
    parser.add_argument("face", metavar="FACE", help="face, as `hullwright check` names it")
    plan(parser)


def _ok_to_cover(parser: argparse.ArgumentParser) -> None:
    _ready(parser)
    parser.add_argument("--signed", metavar="NAME", required=True, help="the lead who signs")
    parser.add_argument(
        "--supplement", metavar="OK", default="",
        help="number or id of an earlier OK to cover: for the pieces alone that a revision or a hole took out of it",
    )  # fmt: skip
    parser.add_argument(
        "--except", dest="exceptions", metavar="ID", action="append", default=[],
        help="leave this in the way and say so, as `ready` names it; may be repeated",
    )  # fmt: skip


def _ticket(parser: argparse.ArgumentParser) -> None:
    house(parser)
    parser.add_argument("hole", metavar="HOLE", help="number or id of the hole, as `holes` prints it")
    parser.add_argument("--product", metavar="P", required=True, help="what to seal it with")
    parser.add_argument("--detail", metavar="TEXT", required=True, help="how")
    parser.add_argument(
        "--weather",
        metavar="CSV",
        help="weather to come (time, rain_mm, air_c): the next dry hours that are long enough",
    )


def _holes(parser: argparse.ArgumentParser) -> None:
    house(parser)
    parser.add_argument("--all", action="store_true", help="sealed holes too")


def _use(parser: argparse.ArgumentParser) -> None:
    house(parser)
    parser.add_argument(
        "--yield", dest="yields", metavar="PRODUCT=L", action="append", default=[],
        help="length a pack should do, such as silyl-flashing-20='80 ft', where the sheet does not say it",
    )  # fmt: skip
    rest = parser.add_argument_group("what is left to do (all or none)")
    rest.add_argument("--product", metavar="P", help="product")
    rest.add_argument("--method", metavar="M", help="method")
    rest.add_argument("--left", metavar="L", help="length still to do, such as '600 ft'")
    rest.add_argument("--per-day", metavar="L", help="length a day, such as '150 ft'")
    rest.add_argument("--start", metavar="DATE", help="first day, such as 2025-05-12")
    rest.add_argument("--stock", type=Amount("packs"), metavar="N", help="unopened packs on site")
    rest.add_argument("--lead", type=int, metavar="DAYS", help="days from order to site")
    picture(parser, "use against plan")


def _experience(parser: argparse.ArgumentParser) -> None:
    house(parser)
    parser.add_argument("--out", metavar="JSON", help="new file to write")
    parser.add_argument(
        "--earlier", metavar="JSON", action="append", default=[], help="add an earlier house; may be repeated"
    )


def _mockup(parser: argparse.ArgumentParser) -> None:
    for name, sample in (
        ("length", "length gunned, such as '10 ft'"), ("width", "width of the band"), ("used", "material used, such as '9 fl oz'"),
        ("used-u", "standard uncertainty of that"), ("width-u", "standard uncertainty of the width"), ("time", "gunning time, such as '75 s'"),
        ("gap", "gap under the film"), ("depth", "how deep it was filled"), ("teeth", "teeth of the gauge, such as '16 18 20 22 mil'"),
        ("wet", "last wet tooth of each reading, such as '20 22 none'"), ("target-width", "width by the sheet"),
        ("target-dry", "dry film by the sheet"), ("solids", "volume solids, 0.6 or 60 %%"), ("house-length", "joint length of the house"),
        ("least-dry", "least dry film of the sheet: then aim and readings are said too"), ("greatest-dry", "greatest dry film of the sheet"),
        ("pack", "pack, such as '20 fl oz': then the money of the film too"), ("price", "money a pack"),
    ):  # fmt: skip
        parser.add_argument(f"--{name}", metavar="X", help=sample)


def _readings(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file",
        nargs="?",
        metavar="FILE",
        help="building file: aim, readings and extra film of each product, with their money",
    )
    parser.add_argument("--product", metavar="ID", help="with FILE: one product")
    for name, words in (
        ("mean", "without FILE: wet film that the crew lays, such as '24 mil'"),
        ("sd", "its spread (standard deviation); with FILE: another spread, to try"),
        ("least", "without FILE: least wet film"),
        ("step", "without FILE: step of the gauge there"),
    ):
        parser.add_argument(f"--{name}", metavar="T", help=words)
    parser.add_argument(
        "--chance",
        type=Amount("chance"),
        default=0.9,
        metavar="C",
        help="chance that such a lot is proved (default 0.9)",
    )
    picture(parser, "the operating curve")


def _fasteners(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "file", metavar="FILE", nargs="?", help="building file: the counts in its log, by face"
    )
    parser.add_argument("--house", metavar="NAME", help="name of the house in the log, where it is another")
    store(parser)
    hand = parser.add_argument_group("or by hand")
    hand.add_argument("--perimeter", type=int, metavar="N", help="perimeter fasteners looked at")
    hand.add_argument(
        "--over-1-16", type=int, metavar="N", help="of these over 1/16 in (1.6 mm), up to 1/8 in"
    )
    hand.add_argument("--over-1-8", type=int, metavar="N", help="of these over 1/8 in (3.2 mm)")


def _backup(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "target", metavar="NEWFILE", help="file to make, photos included; must not be there yet"
    )
    store(parser)


def _verify(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("saved", metavar="FILE", nargs="?", help="a backup (default: the log itself)")
    store(parser)


def _restore(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("saved", metavar="FILE", help="the backup")
    parser.add_argument(
        "--replace",
        action="store_true",
        help="where a log is there already: back that one up beside, then replace it",
    )
    store(parser)


def _issue(parser: argparse.ArgumentParser) -> None:
    house(parser)
    parser.add_argument("--reason", metavar="TEXT", default="", help="why it is issued, such as 'W3 moved'")
    plan(parser)
    author(parser)


RECORD: Final[tuple[tuple[str, str, Adder, str], ...]] = (
    ("log", "the log of the house: add, list, correct, import, export, photo, rules", log, "hullwright.cli.record:log"),
    ("issue", "issue the building file as the drawing: the next revision", _issue, "hullwright.cli.issued:issue"),
    ("revisions", "what each revision changed: patch here, prove again there", house, "hullwright.cli.issued:revisions"),
    ("mockup", "what a mock-up says: film, bead, pace, saving", _mockup, "hullwright.cli.learned:mockup"),
    ("readings", "how many gauge readings to plan for a lot, and what to aim at", _readings, "hullwright.cli.learned:readings"),
    ("tape", "is each lot of tape proved", _tape, "hullwright.cli.proved:tape"),
    ("fasteners", "overdriven fasteners: strength and heads to seal", _fasteners, "hullwright.cli.proved:fasteners"),
    ("states", "the state of every joint, from what was logged", _states, "hullwright.cli.proved:states"),
    ("ready", "may this face be covered", _ready, "hullwright.cli.proved:ready"),
    ("ok-to-cover", "sign that a face may be covered", _ok_to_cover, "hullwright.cli.proved:ok_to_cover"),
    ("holes", "the register of holes", _holes, "hullwright.cli.proved:holes"),
    ("ticket", "a ticket for whoever seals a hole", _ticket, "hullwright.cli.proved:ticket"),
    ("use", "material used against plan, packs to finish", _use, "hullwright.cli.learned:use"),
    ("rates", "hours and flaws of this crew, prior and data apart", house, "hullwright.cli.learned:rates"),
    ("experience", "what this house taught, without names, for the next one", _experience, "hullwright.cli.learned:experience"),
    ("backup", "copy the whole log into one file", _backup, "hullwright.cli.saved:backup"),
    ("verify", "check every byte of the log or of a backup", _verify, "hullwright.cli.saved:verify"),
    ("restore", "bring a backup back", _restore, "hullwright.cli.saved:restore"),
)  # fmt: skip
