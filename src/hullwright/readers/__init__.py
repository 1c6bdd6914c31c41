"""Raw files in: fan tests, findings, weather. Reads, checks and gives places; knows no rules."""
