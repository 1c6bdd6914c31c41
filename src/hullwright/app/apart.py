"""One work in a process of its own, that can be told to stop or cut off at any moment, and leaves nothing open."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import Any, Final

PATIENCE: Final = 20.0
"""Seconds that a work gets to hand over its best plan after it was told to stop."""
WORKER: Final = (sys.executable, "-m", "hullwright.app.worker")


class Apart:
    """A work that is asked once (:mod:`hullwright.app.worker` answers).

    Parameters
    ----------
    command : sequence of str
        What answers: takes the question as one line, gives progress and at last the answer as JSON lines.
    patience : float
        Time between the word to stop and the end [s].

    Examples
    --------
    >>> echo = "import sys, json; print(json.dumps({'result': json.loads(sys.stdin.readline())}))"
    >>> Apart([sys.executable, "-c", echo]).answer({"kind": "plan"}, print)
    {'result': {'kind': 'plan'}}
    """

    def __init__(self, command: Sequence[str] = WORKER, *, patience: float = PATIENCE) -> None:
        self._command, self._patience = tuple(command), patience
        self._lock = threading.Lock()
        self._process: subprocess.Popen[str] | None = None
        self._killer: threading.Timer | None = None
        self._listens = self._stop = self._cut = False

    def answer(self, question: Mapping[str, Any], tell: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
        """Ask, and wait for the answer.

        Parameters
        ----------
        question : mapping
        tell : callable
            Given the progress as it comes.

        Returns
        -------
        dict
            The last whole line: without ``result`` or ``error`` where it ended before it could answer, or was cut off.
        """
        pipes: dict[str, Any] = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "encoding": "utf-8"}
        with self._lock:  # who cuts it off comes before it is there, or finds it: never between
            if self._cut:
                return {}
            process = subprocess.Popen(self._command, errors="replace", **pipes)  # noqa: S603 - our own module, no words of a user
            self._process = process
        try:
            return self._talk(process, question, tell)
        finally:
            self._end(process)

    def stop(self) -> None:
        """Tell it to stop: it hands over its best so far, and is cut off where it takes too long."""
        with self._lock:
            self._stop = True
            self._say_stop()

    def cut(self) -> None:
        """Cut it off, or keep it from beginning."""
        with self._lock:
            self._cut = True
            if self._process is not None:
                self._process.kill()

    def _talk(
        self,
        process: subprocess.Popen[str],
        question: Mapping[str, Any],
        tell: Callable[[dict[str, Any]], object],
    ) -> dict[str, Any]:
        assert process.stdin is not None
        assert process.stdout is not None
        with suppress(OSError):  # it is gone already: that it says nothing tells so
            process.stdin.write(json.dumps(question) + "\n")
            process.stdin.flush()
        with self._lock:
            self._listens = True  # from here on nothing gets into the middle of the question
            if self._stop:
                self._say_stop()
        last: dict[str, Any] = {}
        for line in process.stdout:
            if not line.endswith("\n"):
                break  # cut off in the middle of a line
            last = json.loads(line)
            if "progress" in last:
                tell(last["progress"])
        return last

    def _say_stop(self) -> None:
        process = self._process
        if process is None or process.stdin is None or not self._listens or self._killer is not None:
            return
        with suppress(OSError):  # it has just ended by itself
            process.stdin.write("stop\n")
            process.stdin.flush()
        self._killer = threading.Timer(self._patience, process.kill)
        self._killer.daemon = True
        self._killer.start()

    def _end(self, process: subprocess.Popen[str]) -> None:
        with self._lock:
            self._process = None
            if self._killer is not None:
                self._killer.cancel()
            process.kill()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with suppress(OSError):  # what was said to one that has ended can't be sent any more
                        pipe.close()
            process.wait()
