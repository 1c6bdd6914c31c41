"""Where is the leakage, before and after a test; the order in which to look; what it is worth."""
