"""``check``, ``joints`` and ``new``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from rich.console import Console

from hullwright import building
from hullwright.app import files
from hullwright.app import house as use
from hullwright.app.heads import head
from hullwright.app.marks import marks_of, write_marks
from hullwright.app.open_holes import holes_json, holes_of
from hullwright.cli.main import emit
from hullwright.cli.tables import assumed, cautions, console, say, table
from hullwright.errors import MassingError
from hullwright.joints.model import JointKind
from hullwright.joints.short import tape
from hullwright.report.faces import pieces_words
from hullwright.units import Show


def check(args: Namespace) -> int:
    """Answer whether the hull is closed."""
    try:
        answer = use.check(args.file)
    except MassingError as error:
        if args.sketch and error.picture:
            files.write_new(Path(args.sketch), error.picture)
        raise
    if args.sketch:
        files.write_new(Path(args.sketch), answer.sketch())
    register = holes_of(args.file, args.data)
    if args.json:
        emit(answer.to_json() | holes_json(register))
        return 0 if answer.closed else 1
    screen, show, hull = console(), Show(answer.house.building.system), answer.house.hull
    share = answer.house.joints.joint_share
    if answer.closed:
        say(
            screen,
            f"{answer.house.building.name}: the hull is CLOSED. Every face edge carries a joint.",
            "bold",
        )
    else:
        say(
            screen,
            f"{answer.house.building.name}: the hull is OPEN: {share:.1%} of the face edges carry a joint.",
            "bold",
        )
    if register is not None and register.open:
        words = f"{len(register.open)} HOLES ARE OPEN by the log: hullwright holes {args.file}"
        say(screen, words if len(register.open) > 1 else words.replace("HOLES ARE", "HOLE IS"), "bold")
    volume = answer.house.inner_volume
    say(
        screen,
        f"{len(hull.faces)} faces, {show.area(hull.area)}; {show.volume(hull.volume)} outside, "
        f"{show.volume(volume.value)} inside [{volume.evidence}]",
    )
    _say_floor_lines(screen, answer.house)
    for note in hull.notes:
        say(screen, f"? {note}", "bold")
    if answer.places:
        open_rows = [(p.face, show.size(p.length), _at(p.start), _at(p.end), p.note) for p in answer.places]
        screen.print(
            table(["face", "length", "from", "to", "what"], open_rows, title="Open places", right=[1])
        )
    rows = [
        (
            f.id,
            f.kind.value,
            show.area(f.area),
            show.area(f.net_area),
            show.run_length(f.perimeter),
            "level" if f.azimuth != f.azimuth else f"{f.azimuth:.0f}°",
            f"{f.tilt:.0f}°",
            str(len(f.openings) or ""),
            str(len(f.penetrations) or ""),
        )
        for f in hull.faces
    ]
    heads = [
        "face",
        "kind",
        "area",
        "less openings",
        "perimeter",
        "bearing",
        "tilt",
        "openings",
        "penetrations",
    ]
    screen.print(table(heads, rows, right=range(2, 9)))
    assumed(screen, answer.house.assumed, most=len(answer.house.assumed))
    for remark in answer.house.building.remarks:
        say(screen, f"! {remark}")
    cautions(screen, answer.cautions)
    return 0 if answer.closed else 1


def _say_floor_lines(screen: Console, house: use.House) -> None:
    """Say how long the floor lines are, and which joints carry them."""
    lengths, show = use.floor_lines(house.joints), Show(house.building.system)
    if not lengths:
        return
    text = f"Floor lines, where a story stands on another: {show.run_length(sum(lengths.values()))}"
    if set(lengths) - {JointKind.FLOOR_LINE}:
        parts = "; ".join(f"{kind} {show.run_length(length)}" for kind, length in lengths.items())
        text += f" ({parts}). Where a story is set back or hangs out, the joint at the foot of its wall moves"
    say(screen, f"{text}.")


def _at(point: object) -> str:
    x, y, z = (float(value) for value in point)  # type: ignore[attr-defined]
    return f"{x:.2f}, {y:.2f}, {z:.2f} m"


def joints(args: Namespace) -> int:
    """List every joint."""
    answer = use.joints(args.file)
    if args.json:
        emit(answer.to_json())
        return 0
    screen, show = console(), Show(answer.house.building.system)
    found = answer.house.joints
    say(screen, f"{answer.house.building.name}: {len(found.joints)} joints in {len(found.runs)} runs", "bold")
    rows = [
        (
            kind.value,
            str(number),
            "" if kind.piece else show.run_length(length),
            f"{count:.0f}" if kind.piece else "",
        )
        for kind, (count, length, number) in answer.by_kind().items()
    ]
    screen.print(table(["kind", "joints", "length", "pieces"], rows, right=[1, 2, 3]))
    _say_floor_lines(screen, answer.house)
    runs = [
        (
            r.name,
            r.kind.value,
            pieces_words(r.quantity) if r.kind.piece else show.run_length(r.quantity),
            r.stage,
            show.size(r.height),
        )
        for r in found.runs
    ]
    screen.print(table(["run", "kind", "how much", "stage", "highest"], runs, right=[2, 4]))
    cautions(screen, answer.cautions)
    return 0


def marks(args: Namespace) -> int:
    """List the marks, and write those that are only numbered into the file."""
    answer = write_marks(args.file) if args.write else marks_of(args.file)
    if args.json:
        emit(answer.to_json())
        return 0
    screen, show = console(), Show(answer.building.system)
    numbered = sum(not row.stated for row in answer.rows)
    say(screen, f"{answer.building.name}: {len(answer.rows)} marks", "bold")
    rows = [
        (
            row.mark,
            row.what,
            row.name,
            f"{row.body}, {row.where}",
            tape(row.across, show),
            tape(row.up, show),
            "in the file" if row.stated else "numbered",
        )
        for row in answer.rows
    ]
    if rows:
        heads = ["mark", "what", "name", "where", "from left or east", "up or north", ""]
        screen.print(table(heads, rows, right=[4, 5]))
    if args.write:
        say(screen, f"{answer.written} marks written into {args.file}. Nothing else in it was changed.")
    elif numbered:
        say(
            screen,
            f"{numbered} are only numbered: another opening before them renumbers them. hullwright marks {args.file} --write keeps them.",
        )
    return 0


def new(args: Namespace) -> int:
    """Write a commented starter file."""
    text = building.starter(args.units)
    if args.file:
        files.write_new(Path(args.file), text)
    if args.json:
        emit(head("new") | {"file": args.file, "text": text, "cautions": []})
    elif args.file:
        print(f"wrote {args.file}; change it, then: hullwright check {args.file}")
    else:
        print(text, end="")
    return 0
