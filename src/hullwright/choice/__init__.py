"""Which options are allowed on each run and why; the best plan for a budget or a target; the curve between."""
