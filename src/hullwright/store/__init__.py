"""Keep everything, lose nothing: entries and photos in one SQLite file per company."""
