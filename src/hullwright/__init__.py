"""hullwright: from a building file to one closed air- and water-tight layer."""
