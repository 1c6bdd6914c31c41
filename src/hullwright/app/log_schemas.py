"""JSON Schema of the answers about the log; :mod:`hullwright.app.schemas` can take them in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from hullwright.app.schemas import (
    CAUTION,
    COUNT,
    NUMBER,
    PLACE,
    SHARE,
    SPREAD,
    TEXT,
    WHOLE,
    YES,
    Schema,
    aim_shape,
    answer,
    film_shape,
    many,
    maybe,
    thing,
)
from hullwright.proof.gauge_verdict import Verdict

_HELD: Final[Schema] = {"type": "object", "additionalProperties": many(TEXT)}
_STORE: Final[Schema] = {"store": TEXT, "house": TEXT}


def _entry() -> Schema:
    return thing(
        {
            "id": TEXT, "kind": TEXT, "author": TEXT, "device": TEXT, "device_time": TEXT, "device_sequence": WHOLE, "joint": TEXT,
            "face": TEXT, "version": WHOLE, "what": {"type": "object"}, "supersedes": TEXT, "number": WHOLE,
        },
        {"run": TEXT, "mark": TEXT, "revision": WHOLE, "known": WHOLE, "joint_kind": TEXT, "place_m": maybe(PLACE), "plan": TEXT, "server_time": maybe(TEXT), "clock_offset_s": maybe(NUMBER)},
    )  # fmt: skip


def _film_lots() -> Schema:
    lot = thing(
        {
            "id": TEXT, "readings": WHOLE, "mean_um": maybe(COUNT), "sd_um": maybe(COUNT), "bound_um": maybe(NUMBER),
            "minimum_um": COUNT, "answer": {"enum": ["proved", "not yet", "thin"]}, "more_readings": maybe(WHOLE),
        },
        {
            "method": TEXT, "crew": TEXT, "day": TEXT, "surface": TEXT, "minimum_dry_um": COUNT, "share": SHARE, "confidence": SHARE,
            "thin_at": many(TEXT), "share_below": maybe(SPREAD), "sentence": TEXT, "cautions": many(CAUTION), "product": TEXT,
            "cuts": many(thing({"joint": TEXT, "dry_um": COUNT})), "joints": many(TEXT), "pooled": YES,
            "earlier_spread": maybe({"type": "object"}), "coat": WHOLE, "length_m": COUNT, "taken": WHOLE,
            "replaced": many(TEXT), "joined": many(TEXT), "says": many(TEXT),
        },
    )  # fmt: skip
    hand = thing(
        {
            "crew": TEXT, "product": TEXT, "sd_um": COUNT, "spread_um": COUNT, "degrees_of_freedom": WHOLE, "lots": WHOLE, "stable": YES,
            "chance_if_same": SHARE, "level": SHARE, "aim_now_um": maybe(COUNT), "aim_then_um": maybe(COUNT), "area_m2": COUNT,
            "saves_money": NUMBER, "state": {"type": "object"},
        }
    )  # fmt: skip
    return answer("film lots", {"lots": many(lot)}, {**_STORE, "unjudged": many(TEXT), "hands": many(hand)})


def _mockup() -> Schema:
    agreement = thing(
        {"by_mass_um": NUMBER, "by_comb_um": NUMBER, "difference": SPREAD, "agree": YES, "hint": TEXT}
    )
    saved = thing({"share": SPREAD, "volume_l": SPREAD, "cautions": many(CAUTION)})
    needed = {
        "wet_um": SPREAD,
        "gap_share": SHARE,
        "agreement": maybe(agreement),
        "bead_mm": maybe(COUNT),
        "pace_m_min": maybe(COUNT),
        "saving": maybe(saved),
    }
    film = aim_shape({"spread": SPREAD, "added_money": maybe(NUMBER), "steadier_money": maybe(NUMBER)})
    return answer("mock-up", needed, {"film": maybe(film)})


def _readings() -> Schema:
    column = many(COUNT)
    curve = thing({"readings": WHOLE, "mean_um": column, "share_below": many(SHARE), "chance": many(SHARE)})
    choice = thing(
        {
            "readings": WHOLE, "aim_wet_um": COUNT, "provable": YES, "chance": SHARE, "film_money": COUNT, "readings_money": COUNT,
        }
    )  # fmt: skip
    shape = film_shape()
    film = shape | {"properties": shape["properties"] | {"choices": many(choice)}}
    return answer(
        "film readings",
        {"chance": SHARE},
        {"readings": WHOLE, "curve": curve, "films": many(film), "currency": TEXT},
    )


def _fasteners() -> Schema:
    face = thing(
        {
            "face": TEXT, "perimeter": WHOLE, "over_1_16": WHOLE, "over_1_8": WHOLE, "add": WHOLE, "engineer": YES, "why": TEXT, "to_seal": WHOLE,
        }
    )  # fmt: skip
    return answer("fasteners", {"faces": many(face), "add": WHOLE, "to_seal": WHOLE}, _STORE)


def _settled() -> Schema:
    return answer("log settle", {**_STORE, "settled": many(_lost()), "needs_place": many(_lost())})


def _lost() -> Schema:
    return thing({"entry": TEXT, "kind": TEXT, "was": TEXT, "joint": maybe(TEXT), "distance_m": maybe(COUNT)})


def _tape_lots() -> Schema:
    lot = thing(
        {
            "id": TEXT,
            "probed": WHOLE,
            "failed": WHOLE,
            "answer": {"enum": ["proved", "not yet", "bad"]},
            "missing": many(TEXT),
            "more_probes": WHOLE,
            "share_failing": SPREAD,
            "chance_within": SHARE,
            "limit": SHARE,
        },
        {"staples": WHOLE, "joints": many(TEXT), "not_seen_rolled": many(TEXT), "cautions": many(CAUTION)},
    )
    return answer("tape lots", {**_STORE, "lots": many(lot)})


def _patch() -> Schema:
    needed = {"joint": TEXT, "mark": TEXT, "revision": WHOLE, "face": TEXT, "outline_m": many(PLACE)}
    return thing(needed, {"state": TEXT})


def _states() -> Schema:
    state = {"enum": ["not yet due", "bare", "prepared", "sealed", "proved", "covered", "punctured"]}
    joint = thing(
        {
            "joint": TEXT,
            "state": state,
            "missing": many(TEXT),
            "open_holes": many(TEXT),
            "open_flaws": many(TEXT),
            "lots": many(TEXT),
        }
    )
    face = thing(
        {
            "face": TEXT,
            "perimeter": WHOLE,
            "over_1_16": WHOLE,
            "over_1_8": WHOLE,
            "add": WHOLE,
            "engineer": YES,
            "to_seal": WHOLE,
        }
    )
    needed = {
        "counts": {"type": "object", "additionalProperties": WHOLE},
        "joints": many(joint),
        "covered_too_early": many(TEXT),
        "started_too_early": many(TEXT),
        "not_to_start": {"type": "object", "additionalProperties": many(TEXT)},
        "needs_place": many(_lost()),
        "fasteners": many(face),
        "revision": WHOLE,
        "drawing_differs": YES,
        "covered_faces": many(TEXT),
        "opened_again": many(thing({"joint": TEXT, "face": TEXT, "ok": TEXT, "why": TEXT})),
        "oks_that_do_not_count": many(thing({"entry": TEXT, "face": TEXT, "why": TEXT})),
        "patches": many(_patch()),
        "unclear": many(
            thing(
                {
                    "entry": TEXT,
                    "kind": TEXT,
                    "joints": many(TEXT),
                    "left_out": many(thing({"joint": TEXT, "why": TEXT})),
                    "lacking": TEXT,
                }
            )
        ),
        "gaskets_late": many(TEXT),
    }
    return answer("log states", {**_STORE, **needed})


def _ready() -> Schema:
    blocker = thing({"id": TEXT, "joint": TEXT, "reason": TEXT, "missing": many(TEXT)}, {"where": TEXT})
    return answer(
        "ready",
        {
            "face": TEXT,
            "ready": YES,
            "joints": WHOLE,
            "states": {"type": "object"},
            "blockers": many(blocker),
            "revision": WHOLE,
            "drawing_differs": YES,
        },
        {"says": many(TEXT)},
    )


def _use() -> Schema:
    packs = thing({"p50": WHOLE, "p90": WHOLE})
    ahead = thing(
        {
            "packs_to_finish": packs,
            "packs_to_order": packs,
            "runs_out": maybe(TEXT),
            "may_run_out": maybe(TEXT),
            "reorder_by": maybe(TEXT),
        }
    )
    over = thing(
        {"needed_l": COUNT, "used_l": COUNT, "over_share": NUMBER, "money": NUMBER, "cured_money": COUNT}
    )
    line = thing(
        {
            "product": TEXT, "method": TEXT, "days": WHOLE, "length_m": COUNT, "packs": COUNT, "cured_packs": WHOLE, "unmatched_packs": COUNT,
            "prior_m_per_pack": SPREAD, "observations": WHOLE, "data_m_per_pack": maybe(COUNT), "m_per_pack": SPREAD,
            "cured_packs_per_day": SPREAD, "over": maybe(over), "ahead": maybe(ahead),
        }
    )  # fmt: skip
    pack = thing({"product": TEXT, "lot": TEXT, "open": WHOLE, "since": TEXT, "expired": YES})
    return answer("use", {**_STORE, "currency": TEXT, "lines": many(line), "open_packs": many(pack)})


def _rates() -> Schema:
    group = {"method": TEXT, "kind": TEXT, "crew": TEXT}
    hour = thing(
        {
            **group,
            "observations": WHOLE,
            "data_h_per_unit": maybe(COUNT),
            "planned_h_per_unit": maybe(COUNT),
            "prior_h_per_unit": maybe(SPREAD),
            "h_per_unit": maybe(SPREAD),
        }
    )
    flaw = thing(
        {
            **group,
            "per": {"enum": ["100 m", "piece"]},
            "flaws": WHOLE,
            "looked_at": COUNT,
            "data": maybe(COUNT),
            "planned": maybe(COUNT),
            "prior": SPREAD,
            "posterior": SPREAD,
        }
    )
    return answer("rates", {"hours": many(hour), "flaws": many(flaw)})


def _hole() -> Schema:
    return thing(
        {
            "id": TEXT, "joint": TEXT, "face": TEXT, "place_m": maybe(PLACE), "text": TEXT, "made_by": TEXT, "noted": TEXT, "temporary": YES,
            "open": YES, "sealed_with": maybe(TEXT), "detail": maybe(TEXT),
        }
    )  # fmt: skip


def _holes() -> Schema:
    needed = {"open": WHOLE, "open_temporary": WHOLE, "holes": many(_hole())}
    return answer("holes", needed, {**_STORE, "patches": many(_patch())})


def _ticket() -> Schema:
    return answer(
        "ticket", {"hole": _hole(), "product": TEXT, "detail": TEXT, "dry_hours": many(many(TEXT))}, _STORE
    )


def _experience() -> Schema:
    sums = {"n": WHOLE, "mean_log": NUMBER, "sum_squares": COUNT}
    return answer(
        "experience",
        {
            "houses": WHOLE,
            "flaws": many(
                thing({"method": TEXT, "kind": TEXT, "flaws": WHOLE, "looked_at": COUNT, "pieces": YES})
            ),
            "hours": many(thing({"method": TEXT, "kind": TEXT, **sums})),
            "yields": many(thing({"product": TEXT, "method": TEXT, **sums})),
        },
        {"drawings": many(thing({"revision": WHOLE, "sha256": TEXT}))},
    )


def _log_list() -> Schema:
    rival = thing({"of": TEXT, "entries": many(TEXT)})
    return answer("log list", {**_STORE, "entries": many(_entry()), "rivals": many(rival)}, {"held": _HELD})


def _log_import() -> Schema:
    return answer(
        "log import",
        {**_STORE, "file": TEXT, "stored": WHOLE, "already": WHOLE, "differing": many(TEXT)},
        {"held": _HELD},
    )


def _verify() -> Schema:
    return answer(
        "verify",
        {
            "path": TEXT,
            "ok": YES,
            "version": WHOLE,
            "entries": WHOLE,
            "photos": WHOLE,
            "drawings": WHOLE,
            "problems": many({"type": "object"}),
        },
    )


def _issued() -> Schema:
    return thing({"number": WHOLE, "time": TEXT, "author": TEXT, "reason": TEXT, "sha256": TEXT})


def _stretch() -> Schema:
    return thing({"joint": TEXT, "from_m": COUNT, "to_m": COUNT})


def _revision() -> Schema:
    size = maybe({"type": "array", "items": COUNT, "minItems": 2, "maxItems": 2})
    changes = many({"enum": ["came", "went", "moved", "changed size", "renamed"]})
    difference = thing(
        {
            "changes": changes, "sort": {"enum": ["wall or roof", "opening", "penetration", "attachment"]}, "kind": TEXT, "was": TEXT,
            "now": TEXT, "face": TEXT, "moved_m": COUNT, "size_was_m": size, "size_now_m": size,
        }
    )  # fmt: skip
    return thing(
        {
            "differences": many(difference), "new": many(_stretch()), "gone": many(_stretch()), "renamed": WHOLE,
            "replanned": many(TEXT),
        }
    )  # fmt: skip


def _issue() -> Schema:
    needed = {"issued": _issued(), "new": YES, "revision": maybe(_revision()), "unplanned": WHOLE}
    needed |= {"marks_written": WHOLE, "said": TEXT}
    return answer("issue", {**_STORE, **needed})


def _revisions() -> Schema:
    step = _issued()
    step["required"] = sorted([*step["required"], "changed", "worked_on"])
    step["properties"] |= {"changed": maybe(_revision()), "worked_on": many(TEXT)}
    needed = {
        "revision": WHOLE,
        "revisions": many(step),
        "differs": maybe(_revision()),
        "prove_again": {"type": "object", "additionalProperties": many(_stretch())},
        "patch_here": many(_patch()),
    }
    return answer("revisions", {**_STORE, **needed})


def _added() -> Schema:
    said = thing(
        {
            "verdict": {"enum": [one.value for one in Verdict]}, "words": TEXT, "low_um": COUNT, "high_um": maybe(COUNT),
            "least_wet_um": COUNT, "aim_wet_um": COUNT,
        }
    )  # fmt: skip
    left = thing({"joint": TEXT, "why": TEXT})
    return answer(
        "log add",
        {**_STORE, "entry": _entry()},
        {"held": many(TEXT), "gauge": maybe(said), "said": TEXT, "left_out": many(left), "lacking": TEXT},
    )


def _rules() -> Schema:
    entry = thing({"entry": TEXT, "about": TEXT, "whole_face": TEXT, "does": TEXT, "evidence": TEXT})
    proof = thing(
        {
            "method": TEXT,
            "joints": {"enum": ["band", "piece"]},
            "prepared_by": TEXT,
            "needs": TEXT,
            "evidence": TEXT,
        }
    )
    stage = thing({"stage": TEXT, "entry": TEXT, "before": TEXT, "evidence": TEXT})
    figure = thing({"name": TEXT, "value": TEXT, "says": TEXT, "evidence": TEXT})
    return answer(
        "log rules",
        {"entries": many(entry), "proofs": many(proof), "stages": many(stage), "figures": many(figure)},
    )


LOG_MAKERS: Final[dict[str, Callable[[], Schema]]] = {
    "log add": _added,
    "log list": _log_list,
    "log import": _log_import,
    "log export": lambda: answer("log export", {**_STORE, "file": TEXT, "entries": WHOLE}),
    "log rules": _rules,
    "log states": _states,
    "film lots": _film_lots,
    "tape lots": _tape_lots,
    "ready": _ready,
    "use": _use,
    "rates": _rates,
    "holes": _holes,
    "experience": _experience,
    "verify": _verify,
    "mock-up": _mockup,
    "film readings": _readings,
    "fasteners": _fasteners,
    "log settle": _settled,
    "ticket": _ticket,
    "issue": _issue,
    "revisions": _revisions,
}
# a command whose answer is another's: the same object under the command's own name
for _name, _as in {
    "log correct": "log add", "log withdraw": "log add", "log choose": "log add", "log photo": "log add", "ok-to-cover": "log add",
    "states": "log states", "tape": "tape lots", "mockup": "mock-up", "readings": "film readings", "backup": "verify", "restore": "verify",
}.items():  # fmt: skip
    LOG_MAKERS[_name] = LOG_MAKERS[_as]
