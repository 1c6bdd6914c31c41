"""The page of a plan: one HTML file that holds everything, for desk, phone and paper, light and dark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Final


@dataclass(frozen=True, slots=True)
class Sum:
    """A big figure: what it is, the figure, what it rests on."""

    name: str
    figure: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Listing:
    """A table: heads, rows, and which columns are numbers; long ones are folded away behind their title."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    numbers: Sequence[int] = ()
    note: str = ""
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG document with what it shows."""

    title: str
    svg: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Page:
    """All that stands on the page, in this order."""

    title: str
    answer: str
    sums: Sequence[Sum]
    pictures: Sequence[Picture]
    listings: Sequence[Listing]
    dangers: Sequence[tuple[str, str]]
    assumed: Sequence[str]
    made: str = ""
    links: Sequence[tuple[str, str]] = field(default_factory=tuple)
    notes: Sequence[str] = field(default_factory=tuple)


CSS: Final = """
:root{--ground:#fbfaf6;--ink:#22282b;--faint:#666d70;--sheet:#f1efe7;--line:#d5d2c6;--mark:#8a4112;--warn:#fff3d6}
@media (prefers-color-scheme:dark){:root{--ground:#171b1d;--ink:#e8e6df;--faint:#a3abaf;--sheet:#22282b;--line:#3d4549;--mark:#f0a06a;--warn:#3a3018}}
*{box-sizing:border-box}body{margin:0 auto;padding:1.2rem clamp(.8rem,3vw,2.4rem) 4rem;max-width:78rem;background:var(--ground);color:var(--ink);
font:16px/1.45 system-ui,sans-serif;-webkit-text-size-adjust:100%}
h1{font-size:1.5rem;margin:.2rem 0}h2{font-size:1.12rem;margin:2rem 0 .4rem}.answer{font-size:1.12rem;max-width:60ch;margin:.3rem 0 1rem}
.sums{display:grid;grid-template-columns:repeat(auto-fit,minmax(11rem,1fr));gap:.6rem}.sum{background:var(--sheet);border-left:.35rem solid var(--mark);padding:.6rem .8rem}
.sum b{display:block;font-size:1.5rem;font-variant-numeric:tabular-nums}.sum small,.note{color:var(--faint)}figure{margin:0;overflow-x:auto}figure svg{width:100%;min-width:34rem;height:auto;display:block}
.danger{background:var(--warn);padding:.5rem .8rem;margin:.3rem 0;border-left:.35rem double var(--ink)}.danger small{color:var(--faint);display:block}
.wide{overflow-x:auto}table{border-collapse:collapse;font-size:.92rem;min-width:100%}th,td{text-align:left;padding:.3rem .7rem .3rem 0;vertical-align:top;border-bottom:1px solid var(--line)}
th{position:sticky;top:0;background:var(--ground)}td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.links a{display:inline-block;padding:.55rem .8rem .55rem 0;color:var(--mark)}.slide{display:none;color:var(--faint)}
@media (max-width:48rem){.slide{display:block}h1{font-size:1.3rem}th,td{padding-right:.5rem}}
summary{cursor:pointer;min-height:2.75rem;display:flex;align-items:center;font-weight:600}summary:focus-visible{outline:3px solid var(--mark)}
@media print{body{max-width:none;padding:0;font-size:10pt}figure svg{min-width:0}details>*{display:block}.sum{break-inside:avoid}}
"""


SLIDE: Final = "<small class=slide>Slide sideways to see it all.</small>"


def page(content: Page) -> str:
    """Write the page.

    Parameters
    ----------
    content : Page
        Texts are escaped here; pictures are SVG documents of our own making.

    Returns
    -------
    str
        HTML.
    """
    parts = [
        f"<h1>{escape(content.title)}</h1><p class=answer>{escape(content.answer)}</p>",
        f"<div class=sums>{''.join(_sum(item) for item in content.sums)}</div>",
        *(_picture(item) for item in content.pictures),
        *(_listing(item) for item in content.listings),
        _links(content.links),
        _dangers(content.dangers),
        _plain("Assumed, because the file does not say it", content.assumed),
        _plain("Notes", content.notes),
        f"<p class=note>{escape(content.made)}</p>" if content.made else "",
    ]
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">"
        f"<title>{escape(content.title)}</title><style>{CSS}</style></head><body><main>{''.join(parts)}</main></body></html>\n"
    )


def _sum(item: Sum) -> str:
    note = f"<small>{escape(item.note)}</small>" if item.note else ""
    return f"<div class=sum>{escape(item.name)}<b>{escape(item.figure)}</b>{note}</div>"


def _picture(item: Picture) -> str:
    note = f"<p class=note>{escape(item.note)}</p>" if item.note else ""
    return f"<h2>{escape(item.title)}</h2>{note}{SLIDE}<figure tabindex=0>{item.svg}</figure>"


def _listing(item: Listing) -> str:
    numbers = set(item.numbers)

    def row(cells: Sequence[str], tag: str) -> str:
        marks = (
            f"<{tag}{' class=n' if k in numbers else ''}>{escape(cell)}</{tag}>"
            for k, cell in enumerate(cells)
        )
        return f"<tr>{''.join(marks)}</tr>"

    body = "".join(row(cells, "td") for cells in item.rows)
    note = f"<p class=note>{escape(item.note)}</p>" if item.note else ""
    table = f"{note}{SLIDE if len(item.heads) > 3 else ''}<div class=wide tabindex=0><table><thead>{row(item.heads, 'th')}</thead><tbody>{body}</tbody></table></div>"
    if item.folded:
        return f"<details><summary>{escape(item.title)} ({len(item.rows)})</summary>{table}</details>"
    return f"<h2>{escape(item.title)}</h2>{table}"


def _links(items: Sequence[tuple[str, str]]) -> str:
    if not items:
        return ""
    lines = "".join(f'<a href="{escape(target)}">{escape(words)}</a> ' for target, words in items)
    return f"<h2>Files beside this page</h2><p class=links>{lines}</p>"


def _dangers(items: Sequence[tuple[str, str]]) -> str:
    lines = (
        f"<div class=danger>{escape(text)}<small>{escape(source)}</small></div>" for text, source in items
    )
    return f"<h2>Mind</h2>{''.join(lines)}" if items else ""


def _plain(title: str, items: Sequence[str]) -> str:
    if not items:
        return ""
    lines = "".join(f"<li>{escape(text)}</li>" for text in items)
    return f"<details><summary>{escape(title)} ({len(items)})</summary><ul>{lines}</ul></details>"
