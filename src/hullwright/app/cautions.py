"""Cautions that go with every answer on a house."""

from __future__ import annotations

from typing import Final

from hullwright.evidence import Caution, Evidence, Mark

HOUSE_CAUTIONS: Final = (
    Caution(
        "Nailing, straps and hold-downs are inspected and signed off before any seam over them is covered (local code).",
        Evidence(Mark.PRACTICE),
    ),
    Caution(
        "Overdriven fasteners are a structural matter: have an engineer judge them; sealing their heads does not mend strength.",
        Evidence(
            Mark.PUBLISHED,
            "panel trade association technical topic TT-012(A), as restated (not seen in the original)",
        ),
    ),
    Caution(
        "Roof and wall work at 6 ft (1.8 m) and more needs guardrails, nets or personal fall arrest.",
        Evidence(Mark.PUBLISHED, "29 CFR 1926.501(b)(13); other countries: local rule"),
    ),
)
