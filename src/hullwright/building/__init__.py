"""What did the user state: masses, storeys, roofs, openings, penetrations, sheathing, layers, climate, prices, crew."""
