"""Use cases: the only place where rooms meet files, store and clock."""
