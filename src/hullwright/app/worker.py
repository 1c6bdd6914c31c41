"""One long work in a process of its own: question on standard input, progress and answer as JSON lines on standard output.

A line ``stop`` on standard input takes the best plan so far; the end of standard input means that nobody waits any more.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import traceback
from typing import Any

from hullwright.errors import HullwrightError


def main() -> int:
    """Answer one question.

    Returns
    -------
    int
        0; what went wrong is told as an answer.
    """
    out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # what libraries print must not get between the lines
    question = json.loads(sys.stdin.readline())
    stop = threading.Event()
    threading.Thread(target=_listen, args=(stop,), daemon=True).start()

    def tell(line: dict[str, Any]) -> None:
        out.write(json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n")
        out.flush()

    def progress(value: float, bound: float, work: int) -> bool:
        tell({"progress": progress_json(value, bound, work)})
        return not stop.is_set()

    tell(answer(question, progress))
    return 0


def answer(question: dict[str, Any], progress: Any) -> dict[str, Any]:
    """Do the work; errors are answers too."""
    from hullwright.app.longwork import run  # noqa: PLC0415 - heavy, and its errors must be told

    try:
        result, kept = run(question["kind"], question["text"], question["file"], question["ask"], progress)
    except HullwrightError as error:
        return {"error": error.to_json()}
    except Exception:  # noqa: BLE001 - the last stop before the end of the process
        traceback.print_exc()
        return {"error": {"kind": "error", "message": "something went wrong in this work", "problems": []}}
    return {"result": result, "kept": kept}


def progress_json(value: float, bound: float, work: int) -> dict[str, Any]:
    """How far a search is; figures that are not there yet are 0.

    Examples
    --------
    >>> progress_json(2.0, 1.0, 7)
    {'value': 2.0, 'bound': 1.0, 'gap': 0.5, 'work': 7}
    """
    value, bound = (float(v) if abs(v) < 1e300 else 0.0 for v in (value, bound))
    return {
        "value": value,
        "bound": bound,
        "gap": max(0.0, (value - bound) / value) if value > 0 else 0.0,
        "work": int(work),
    }


def _listen(stop: threading.Event) -> None:
    for line in sys.stdin:
        if line.strip() == "stop":
            stop.set()
    os._exit(3)  # nobody waits for the answer


if __name__ == "__main__":
    sys.exit(main())
