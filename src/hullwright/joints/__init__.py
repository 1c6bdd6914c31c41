"""Where must it be sealed: every joint with kind, length, both sides, place; runs that a crew does in one go."""
