"""The own engine: exact linear programs with few working rows, a tree on whole packs, beams for plans."""
