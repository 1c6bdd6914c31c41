"""Which closed surface is that: faces with outward normals, half-edges, openings, panels laid on faces; is it closed."""
