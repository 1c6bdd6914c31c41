"""What do the readings prove, what may be covered, what was used, what did this house teach. Sums only; no files."""
