"""``price-list``."""

from __future__ import annotations

from argparse import Namespace

from hullwright.app import price_list as use
from hullwright.cli.main import emit
from hullwright.cli.tables import cautions, console, say, table


def price_list(args: Namespace) -> int:
    """Match a supplier's price list with the products of a house."""
    answer = use.price_list(args.file, args.list, write=args.write)
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    screen, found, currency = console(), answer.found, answer.house.building.currency
    what = (
        "are in the building file now"
        if answer.written
        else "match; --write puts them into the building file"
    )
    say(screen, f"{len(found.priced)} of {len(found.priced) + len(found.unmatched)} prices {what}.", "bold")
    if found.priced:
        rows = [
            (one.product, one.row.words, f"{one.before:,.2f}", f"{one.price:,.2f}", one.by, str(one.row.line))
            for one in found.priced
        ]
        heads = [
            "product",
            "on the list as",
            f"so far, {currency}",
            f"list, {currency}",
            "matched by",
            "line",
        ]
        screen.print(table(heads, rows, title="Matched", right=[2, 3, 5]))
    if found.unmatched:
        left = [
            (str(one.row.line), one.row.words, one.why, f"{one.near}?" if one.near else "")
            for one in found.unmatched
        ]
        screen.print(
            table(["line", "on the list as", "why not", "perhaps"], left, title="Not matched", right=[0])
        )
    if found.without:
        say(screen, "Your products that the list does not have: " + ", ".join(found.without))
    cautions(screen, [use.AS_LISTED])
    return answer.exit_code
