"""Cautions that go with the sums of this room."""

from __future__ import annotations

from typing import Final

from hullwright.evidence import Caution, Evidence, Mark

_PRACTICE = Evidence(Mark.PRACTICE)
_MEMORY = Evidence(Mark.MEMORY)

SHEET_RULES: Final = Caution(
    "The product sheet rules: film, width, gap limit, temperature and surface. A sum here replaces no sheet.",
    _PRACTICE,
)
SOLIDS_BY_VOLUME: Final = Caution(
    "Solids are by volume. A wet reading foretells the dry film, but some coatings dry thicker: never infer the solids from readings.",
    Evidence(Mark.PUBLISHED, "ASTM D4414-95(2020), 4.2"),
)
GAP_NOT_COUNTED: Final = Caution(
    "No gap is counted. A 1/8 in (3 mm) gap filled 1/4 in (6 mm) deep takes about a third of a 3 in x 20 mil film's material.",
    Evidence(Mark.ESTIMATE, "own sum: 12·(3·0.020 + 1/8·1/4) = 1.095 in3/ft, of which the gap 0.375"),
)
NO_WASTE_COUNTED: Final = Caution("No waste is counted: state a share to see what to buy.", _PRACTICE)
WASTE_DIVIDES: Final = Caution(
    "Waste is a share of what is used: bought = laid ÷ (1 − waste). Learn it on the first lift of work.",
    _PRACTICE,
)
FILL_FIRST: Final = Caution(
    "A gap over 1/4 in (6 mm) wants backer rod, a filler fillet or mesh before the film; over 1/2 in (13 mm) rod and sealant, cured first.",
    _MEMORY,
)
NOT_AN_ENGINEER: Final = Caution(
    "Strength of the nailing is an engineer's and the local code's matter: this count only shows where to ask. "
    "Have nailing inspected before any seam is covered.",
    Evidence(
        Mark.PUBLISHED,
        "panel trade association technical topic TT-012(A), seen as restated by a retrofit engineer, not in the original",
    ),
)
SEAL_EVERY_BROKEN_FACE: Final = Caution(
    "For the barrier every head that broke the face of the panel is a hole, whatever its depth: seal it.",
    _MEMORY,
)
LINER_SLIPS: Final = Caution(
    "Release liner on a roof or scaffold is a slip hazard: bag it at once.", Evidence(Mark.ESTIMATE)
)
ROLL_THE_TAPE: Final = Caution(
    "Tape is pressed on with a roller, on a dry, clean, dust-free surface; no staples.",
    Evidence(Mark.PUBLISHED, "FEMA P-499 fact sheet 7.2; FEMA P-55 ch. 11"),
)
THREE_SIDES: Final = Caution(
    "A moving joint never sticks on three sides: backer rod or bond-breaker tape behind the sealant.",
    Evidence(Mark.MEMORY, "ASTM C1193"),
)
