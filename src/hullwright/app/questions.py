"""Questions of the choice, kept while a page asks for one alternative after the other."""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock
from typing import Final

from hullwright.app.shelf import Place, Shelf
from hullwright.app.weigh import question_of
from hullwright.choice.making import Question

KEPT: Final = 4


class Questions:
    """Questions by house and content of its file.

    Parameters
    ----------
    shelf : Shelf
    """

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self._kept: OrderedDict[tuple[str, str], Question] = OrderedDict()
        self._lock = Lock()

    def of(self, place: Place) -> tuple[Question, str]:
        """Give the question of a house and the hash of the file that it was made from."""
        house, digest = self.shelf.house(place)
        key = (place.id, digest)
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key], digest
        question = question_of(house)
        with self._lock:
            question = self._kept.setdefault(key, question)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return question, digest
