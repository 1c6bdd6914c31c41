"""How much rain and run-off passes each joint while the hull is bare."""
