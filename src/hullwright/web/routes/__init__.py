"""Routes by subject: each handler asks one use case."""
