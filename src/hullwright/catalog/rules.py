"""A small engine for rules of use: rules are data, facts come from a run and an option.

A rule bars an option where all its conditions in `when` hold and not all of those in `needs` do. A condition is

* a plain value: the fact equals it, or, where the fact is a list, contains it;
* a list: the fact (or one of the facts in a list) is in it;
* ``{not = [...]}``: none of it;
* ``{over = x}``, ``{below = x}``: a number above, or below, x.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from hullwright.evidence import Evidence

Facts = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of use.

    Parameters
    ----------
    id : str
        Short name.
    text : str
        What a person reads.
    evidence : Evidence
    when, needs : mapping
        Conditions by fact.
    effect : str
        ``bars`` or ``advises`` (said with the choice, bars nothing).
    yields : bool
        A decision stated by the user goes before it.
    state : str
        What a user may state or do so that it bars no longer; '' where nothing would.
    """

    id: str
    text: str
    evidence: Evidence
    when: Facts
    needs: Facts
    effect: str = "bars"
    yields: bool = False
    state: str = ""

    def bears(self, facts: Facts) -> bool:
        """Whether the rule bears on these facts.

        Raises
        ------
        KeyError
            Where a condition asks for a fact that is not there.

        Examples
        --------
        >>> from hullwright.evidence import ESTIMATE
        >>> rule = Rule("unbacked", "…", ESTIMATE, {"backed": False, "method": ["tape"]}, {"blocking": True})
        >>> rule.bears({"backed": False, "method": "tape", "blocking": False})
        True
        >>> rule.bears({"backed": False, "method": "tape", "blocking": True})
        False
        """
        if not all(holds(wanted, facts[name]) for name, wanted in self.when.items()):
            return False
        return not self.needs or not all(holds(wanted, facts[name]) for name, wanted in self.needs.items())


def holds(wanted: Any, fact: Any) -> bool:
    """Whether a fact meets a condition.

    Parameters
    ----------
    wanted : object
        Condition as it stands in the rule.
    fact : object
        Value, or a list of values.

    Examples
    --------
    >>> holds(["tape", "stretch"], "tape"), holds({"not": ["tape"]}, "tape"), holds({"over": 2.0}, 3.0)
    (True, False, True)
    >>> holds("concrete", ("wood panel", "concrete"))
    True
    """
    if isinstance(wanted, Mapping):
        return all(_compares(name, value, fact) for name, value in wanted.items())
    facts = _several(fact)
    return any(one in facts for one in _several(wanted))


def _compares(name: str, value: Any, fact: Any) -> bool:
    if name == "not":
        return not holds(value, fact)
    if name == "over":
        return bool(fact > value)
    if name == "below":
        return bool(fact < value)
    raise KeyError(name)


def _several(value: Any) -> Sequence[Any]:
    return value if isinstance(value, (list, tuple)) else (value,)
