"""How often may a key be guessed."""

from __future__ import annotations

import time
from collections import OrderedDict, deque
from collections.abc import Callable
from threading import Lock
from typing import Final

from hullwright.app.refusals import TooManyError

MOST: Final = 10
WINDOW: Final = 600.0
"""Seconds."""
ADDRESSES: Final = 10_000


class Guesses:
    """Counts wrong keys by address: ten in ten minutes, then also a right one has to wait.

    Parameters
    ----------
    clock : callable
        Seconds.

    Examples
    --------
    >>> guesses = Guesses(lambda: 0.0)
    >>> for _ in range(10):
    ...     guesses.check("10.0.0.7")
    ...     guesses.wrong("10.0.0.7")
    >>> guesses.check("10.0.0.8")
    >>> guesses.check("10.0.0.7")
    Traceback (most recent call last):
    ...
    hullwright.app.refusals.TooManyError: too many wrong keys from this address
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._wrong: OrderedDict[str, deque[float]] = OrderedDict()
        self._lock = Lock()

    def check(self, address: str) -> None:
        """Refuse an address that guessed too often.

        Raises
        ------
        TooManyError
        """
        now = self._clock()
        with self._lock:
            tries = self._wrong.get(address, deque())
            while tries and now - tries[0] > WINDOW:
                tries.popleft()
            if len(tries) >= MOST:
                raise TooManyError("too many wrong keys from this address", WINDOW - (now - tries[0]))

    def wrong(self, address: str) -> None:
        """Note a wrong key."""
        with self._lock:
            self._wrong.setdefault(address, deque(maxlen=MOST)).append(self._clock())
            self._wrong.move_to_end(address)
            while len(self._wrong) > ADDRESSES:
                self._wrong.popitem(last=False)
