"""``film lots``, ``tape``, ``fasteners``, ``states``, ``ready``, ``ok-to-cover``, ``holes`` and ``ticket``."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from rich.console import Console

from hullwright.app import fasteners as counts
from hullwright.app import files
from hullwright.app import proof as use
from hullwright.app.dry_hours import Span, dry_spans, read_weather
from hullwright.app.film_lots import Asked, FilmLots
from hullwright.app.film_lots import film_lots as judge
from hullwright.app.house import House, load
from hullwright.app.ready_words import lines, ready_json
from hullwright.app.ready_words import where as said_of
from hullwright.app.record_pictures import along_picture, lots_picture
from hullwright.app.site import catalog_of
from hullwright.app.spoken import Spoken, spoken
from hullwright.app.spots import find_entry
from hullwright.cli.main import emit
from hullwright.cli.record import first_drawing, named, shown, where
from hullwright.cli.tables import cautions, console, say, table
from hullwright.errors import InputError, Problem
from hullwright.evidence import Caution
from hullwright.material.sheet import printed_share
from hullwright.proof.cover import CODE
from hullwright.proof.holes import Hole
from hullwright.proof.start import GASKET_FIRST
from hullwright.proof.states import JointState
from hullwright.units import Show


def film_lots(args: Namespace) -> int:
    """Say of every film lot whether it is proved."""
    if not args.readings:
        hint = "hullwright film lots house.yaml (its log), or a csv of comb readings"
        raise InputError("film lots of what", [Problem("FILE is missing", hint=hint)])
    asked = Asked(
        args.rule,
        args.dry,
        args.solids,
        args.share,
        args.confidence,
        args.level,
        args.most,
        args.k,
        args.teeth,
    )
    answer = judge(args.readings, asked, store=args.data, house=args.house)
    if args.joint and not args.picture:
        raise InputError("where does the picture go", [Problem("--joint needs --picture FILE.svg")])
    if args.picture:
        drawn = along_picture(answer, args.joint) if args.joint else lots_picture(answer)
        files.write_new(Path(args.picture), drawn)
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    screen = console()
    if answer.log:
        where(screen, answer.log)
    _lots(screen, answer)
    return answer.exit_code


def _lots(screen: Console, answer: FilmLots) -> None:
    show = Show(answer.system)
    proved = sum(row["answer"] == "proved" for row in answer.rows)
    say(screen, f"{proved} of {len(answer.rows)} film lots are proved.", "bold")
    rows = [
        (row["id"], str(row["readings"]), _film(show, row["mean_um"]), _film(show, row["sd_um"]), _film(show, row["bound_um"]),
         _film(show, row["minimum_um"]), str(row["sentence"]))
        for row in answer.rows
    ]  # fmt: skip
    if rows:
        heads = ["lot", "readings", "mean wet", "spread", "proved", "least wet", "answer"]
        screen.print(table(heads, rows, right=range(1, 6)))
    for hand in answer.hands:
        say(screen, hand.words(show))
    for name in answer.unjudged:
        say(screen, f"? {name}: no product sheet states its least film (or say --dry and --solids)")
    told = [Caution(c["text"], _evidence(c)) for row in answer.rows for c in row["cautions"]]
    cautions(screen, dict.fromkeys([*told, *answer.cautions]))


def _evidence(caution: Any) -> Any:
    from hullwright.evidence import Evidence, Mark  # noqa: PLC0415

    return Evidence(Mark(caution["mark"]), caution["source"])


def _film(show: Show, um: float | None) -> str:
    if um is None:
        return ""
    return f"{um / 25.4:.1f} mil" if show.us else f"{um:.0f} µm"


def tape(args: Namespace) -> int:
    """Say of every lot of tape whether it is proved."""
    answer = use.tape(named(args), args.file, plan=args.plan, limit=printed_share(args.limit).value)
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    screen = console()
    where(screen, answer.log)
    proved = sum(one.result.answer == "proved" for one in answer.judged)
    say(screen, f"{proved} of {len(answer.judged)} lots of tape are proved.", "bold")
    rows = []
    for one in answer.judged:
        low, high = one.result.share.interval()
        found = f"{one.lot.failed} of {one.lot.probed}"
        rows.append(
            (one.key.id, found, f"{low:.0%} to {high:.0%}", one.result.answer, "; ".join(one.result.missing))
        )
    if rows:
        screen.print(
            table(["lot", "failed of probed", "share failing, 95 %", "answer", "missing"], rows, right=[1])
        )
    cautions(screen, [use.TAPE_LIMIT])
    return answer.exit_code


def fasteners(args: Namespace) -> int:
    """Say what overdriven fasteners ask for."""
    by_hand = [args.perimeter, args.over_1_16, args.over_1_8]
    if (args.file is None) == all(count is None for count in by_hand):
        hint = "hullwright fasteners house.yaml, or --perimeter 100 --over-1-16 21 --over-1-8 0"
        raise InputError(
            "which fasteners", [Problem("either a building file with a log, or counts by hand", hint=hint)]
        )
    if args.file is None:
        answer = counts.counted(args.perimeter or 0, args.over_1_16 or 0, args.over_1_8 or 0)
    else:
        answer = counts.logged(named(args))
    if args.json:
        emit(answer.to_json())
        return answer.exit_code
    screen = console()
    if answer.log:
        where(screen, answer.log)
    add, seal = sum(f.strength.add for f in answer.faces), sum(f.to_seal for f in answer.faces)
    say(
        screen,
        f"Strength: {f'add {add} fasteners' if add else 'nothing to add'}. Layer: heads to seal: {seal}.",
        "bold",
    )
    rows = [
        (
            face.face or "as counted",
            str(face.perimeter),
            str(face.shallow),
            str(face.deep),
            str(face.strength.add),
            str(face.to_seal),
            face.strength.why,
        )
        for face in answer.faces
    ]
    if rows:
        heads = ["face", "perimeter", "over 1/16 in", "over 1/8 in", "add", "heads to seal", "why"]
        screen.print(table(heads, rows, right=range(1, 6)))
    cautions(screen, answer.cautions)
    return answer.exit_code


def states(args: Namespace) -> int:
    """Give the state of every joint."""
    house = load(args.file)
    answer = use.states(named(args), house, plan=args.plan)
    if args.picture:
        from hullwright.app.state_picture import state_picture  # noqa: PLC0415  only where a picture is asked for

        files.write_new(Path(args.picture), state_picture(house, answer))
    if args.json:
        emit(answer.to_json())
        return 0
    screen = console()
    where(screen, answer.log)
    found = answer.to_json()["counts"]
    say(screen, ", ".join(f"{count} {state}" for state, count in found.items()) + ".", "bold")
    _differs(screen, differs=answer.drawing_differs, revision=answer.revision)
    said = spoken(args.file)
    rows = [
        _state_row(joint, said)
        for joint in answer.joints
        if not args.state or joint.state.value == args.state
    ]
    if rows:
        screen.print(table(["joint", "state", "what is missing"], rows))
    for words, faces in _by_words(answer.not_to_start):
        say(screen, f"! do not start yet on {', '.join(faces)}: {words}", "bold")
    for words, entries in (
        ("covered without an OK to cover", answer.covered_too_early),
        ("begun before nailing was signed off", answer.started_too_early),
    ):
        for entry in entries:
            say(
                screen,
                f"! {words}: {said.spot(entry.spot)} (entry {entry.receipt.number})",
                "bold",
            )
    _opened(screen, answer, said)
    _unclear(screen, answer, said)
    for item in answer.lost:
        to = f"near: {said.joint(item.joint)}" if item.joint else "no joint of its kind near"
        say(
            screen,
            f"! needs a place: {item.entry.kind} (entry {item.entry.receipt.number}), was at {said.joint(item.entry.spot.joint)}; {to}",
        )
    if answer.lost:
        say(
            screen,
            "  hullwright log settle FILE --proposed takes all that are near; --joint ID places one by hand",
        )
    return 0


def _differs(screen: Console, *, differs: bool, revision: int) -> None:
    """Say that the file is not what the crew works by."""
    if differs:
        words = f"! The building file differs from the drawing, revision {revision}. This is of the drawing; the file counts once you issue it."
        say(screen, words, "bold")


def _unclear(screen: Console, answer: use.States, said: Spoken) -> None:
    """What entries left out and why, which prove nothing, and gaskets that came after the plate was nailed down."""
    for one in answer.unclear:
        head = f"{one.entry.kind} (entry {one.entry.receipt.number})"
        if one.lacking:
            say(screen, f"! {head} proves nothing: {one.lacking}", "bold")
        why: dict[str, list[str]] = {}
        for joint, reason in one.left_out:
            why.setdefault(reason, []).append(said.joint(joint))
        for reason, joints in why.items():
            say(screen, f"  {head} left out {len(joints)}: {reason}: {'; '.join(joints)}")
    for entry in answer.gaskets_late:
        say(
            screen,
            f"! gasket after the plate was nailed down: {said.spot(entry.spot)}; {GASKET_FIRST.text}",
            "bold",
        )


def _opened(screen: Console, answer: use.States, said: Spoken) -> None:
    """Patches, what was opened again, and OKs that count for nothing."""
    left = {joint.joint: joint for joint in answer.joints}
    for patch in answer.patches:
        state = left[patch.id].state.value if patch.id in left else "bare"
        say(
            screen,
            f"! patch {patch.id} on {patch.face}, where {patch.mark} was until revision {patch.revision}: {state}",
            "bold",
        )
    for one in answer.covering.opened:
        say(screen, f"! opened again on {one.face}: {said.joint(one.joint)}, {one.why}", "bold")
    if answer.covering.opened:
        say(screen, "  once proved: hullwright ok-to-cover FILE FACE --signed NAME --supplement OK")
    for ok in answer.covering.void:
        say(screen, f"! OK to cover {ok.entry.receipt.number} on {ok.entry.spot.face}: {ok.void}", "bold")


def _by_words(faces: Mapping[str, tuple[str, ...]]) -> list[tuple[str, list[str]]]:
    out: dict[str, list[str]] = {}
    for face, words in faces.items():
        out.setdefault("; ".join(words), []).append(face)
    return list(out.items())


def _state_row(joint: JointState, said: Spoken) -> tuple[str, str, str]:
    return said.joint(joint.joint), joint.state.value, "; ".join(joint.missing)


def ready(args: Namespace) -> int:
    """Say whether a face may be covered."""
    log = named(args)
    answer = use.ready(log, args.file, args.face, plan=args.plan)
    code = 0 if answer.ready else 1
    if args.json:
        emit(ready_json(answer, spoken(args.file)) | {"store": str(log.path), "house": log.house})
        return code
    screen = console()
    where(screen, log)
    said = spoken(args.file)
    for number, line in enumerate(lines(answer, said)):
        say(screen, line, "" if number else "bold")
    _differs(screen, differs=answer.drawing_differs, revision=answer.revision)
    rows = [
        (said_of(blocker, args.face, said), blocker.reason, "; ".join(blocker.missing), blocker.id)
        for blocker in answer.blockers
    ]
    if rows:
        screen.print(table(["in the way", "why", "do", "name for --except"], rows))
    cautions(screen, [CODE])
    return code


def ok_to_cover(args: Namespace) -> int:
    """Sign the OK to cover of a face."""
    log = named(args)
    earlier = find_entry(log, args.supplement).id if args.supplement else ""
    added = use.ok_to_cover(
        log,
        args.file,
        args.face,
        signed_by=args.signed,
        exceptions=args.exceptions,
        supplements=earlier,
        plan=args.plan,
    )
    first_drawing(args, log, args.signed)
    if args.json:
        emit(added.to_json())
        return 0
    screen = console()
    where(screen, log)
    number = added.entry.receipt.number
    pieces = len(added.entry.what["joints"])
    what = f"supplement for {pieces} pieces of {args.face}" if earlier else args.face
    say(screen, f"{number}: OK to cover {what}, signed by {args.signed}.", "bold")
    for name in args.exceptions:
        say(screen, f"   left in the way, and said: {name}")
    say(
        screen,
        f"   once it is covered: hullwright log add FILE covered ok={number} --face {args.face!r}",
    )
    cautions(screen, [CODE])
    return 0


def _readable(file: str) -> House | None:
    """Give the house; None where its file can't be used now: what was recorded is shown all the same."""
    try:
        return load(file)
    except InputError:
        return None


def holes(args: Namespace) -> int:
    """Print the register."""
    log = named(args)
    answer, patches = use.holes(log), use.open_patches(log, _readable(args.file))
    if args.json:
        emit(answer.to_json() | {"patches": patches, "store": str(log.path), "house": log.house})
        return 0
    screen, show = console(), shown(args.file)
    where(screen, log)
    are = "hole is" if len(answer.open) == 1 else "holes are"
    say(screen, f"{len(answer.open)} {are} open, of {len(answer.holes)} in the register.", "bold")
    said = spoken(args.file)
    rows = [_hole_row(hole, show, said) for hole in answer.holes if args.all or hole.open]
    if rows:
        screen.print(table(["no.", "where", "what", "made by", "noted", "state"], rows, right=[0]))
    for patch in patches:
        words = f"! patch {patch['joint']} on {patch['face']}, where {patch['mark']} was: {patch.get('state', 'not closed')}"
        say(screen, words, "bold")
    return 0


def _hole_row(hole: Hole, show: Show, said: Spoken) -> tuple[str, ...]:
    entry = hole.entry
    state = "open, temporary" if hole.open and hole.temporary else "open" if hole.open else "sealed"
    size = f", {show.size(entry.what['size_m'])}" if "size_m" in entry.what else ""
    return (
        str(entry.receipt.number), said.spot(entry.spot), entry.what["text"] + size, entry.what["made_by"],
        f"{entry.stamp.time:%Y-%m-%d}", state,
    )  # fmt: skip


def ticket(args: Namespace) -> int:
    """Print a ticket for an open hole."""
    log = named(args)
    dry = _dry(args) if args.weather else ()
    answer = use.ticket(log, find_entry(log, args.hole).id, args.product, args.detail, dry=dry)
    if args.json:
        head = {"schema": {"name": "ticket", "version": 1}, "store": str(log.path), "house": log.house}
        emit(head | answer.to_json() | {"cautions": []})
        return 0
    screen, entry = console(), answer.hole.entry
    where(screen, log)
    say(screen, f"SEAL HOLE {entry.receipt.number}: {entry.what['text']}", "bold")
    say(screen, f"Where:   {spoken(args.file).spot(entry.spot)}{_spot(entry.spot.place)}")
    say(screen, f"Made by: {entry.what['made_by']}, noted {entry.stamp.time:%Y-%m-%d}")
    say(screen, f"With:    {answer.product}")
    say(screen, f"How:     {answer.detail}")
    if args.weather:
        times = [f"{start:%a %d %b %H:%M} to {end:%a %d %b %H:%M}" for start, end in dry]
        say(screen, f"Dry:     {'; '.join(times) or 'no span long enough in the weather given'}")
    done = f"hullwright log add FILE 'hole sealed' hole={entry.receipt.number} product={answer.product} detail=..."
    say(screen, f"Then:    take a photo, and {done}")
    return 0


def _dry(args: Namespace) -> tuple[Span, ...]:
    product = catalog_of(args.file).products.get(args.product)
    return dry_spans(read_weather(args.weather), product, datetime.now().astimezone())


def _spot(place: tuple[float, float, float] | None) -> str:
    return "" if place is None else f"  (x, y, z {place[0]:.2f}, {place[1]:.2f}, {place[2]:.2f} m)"
