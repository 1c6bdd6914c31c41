"""One long work in a process of its own: question on standard input, progress and answer as JSON lines on standard output.

A line ``stop`` on standard input takes the best plan so far; the end of standard input means that nobody waits any more.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import traceback
from collections.abc import Callable
from typing import Any

from hullwright.app.refusals import StoppedError
from hullwright.errors import HullwrightError


class Watch:
    """Tells whoever waits how far a work is, and the work whether to go on.

    Parameters
    ----------
    tell : callable
        Given the progress as JSON.
    stopped : callable
        Whether somebody said stop.
    """

    def __init__(self, tell: Callable[[dict[str, Any]], object], stopped: Callable[[], bool]) -> None:
        self._tell, self._stopped = tell, stopped
        self._now: dict[str, Any] = progress_json(0.0, 0.0, 0)

    def __call__(self, value: float, bound: float, work: int) -> bool:
        """Tell how far a search is; gives whether to go on."""
        self._now |= progress_json(value, bound, work)
        self._tell(dict(self._now))
        return not self._stopped()

    def step(self, done: int, of: int, what: str = "") -> None:
        """Tell how many steps are done.

        Raises
        ------
        StoppedError
            Where somebody said stop: what is half done is no answer.
        """
        self._now |= {"done": done, "of": of, "what": what}
        self._tell(dict(self._now))
        if self._stopped():
            raise StoppedError("the work was stopped")


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

    tell(answer(question, Watch(lambda told: tell({"progress": told}), stop.is_set)))
    return 0


def answer(question: dict[str, Any], progress: Watch) -> dict[str, Any]:
    """Do the work; errors are answers too."""
    from hullwright.app.longwork import run  # noqa: PLC0415 - heavy, and its errors must be told

    try:
        asked = (question["kind"], question["text"], question["file"], question["ask"])
        result, kept = run(*asked, progress, beside=question.get("beside"))
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
