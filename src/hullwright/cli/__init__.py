"""The command line: words and tables for people, JSON for programs."""
