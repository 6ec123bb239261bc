"""What the vacuum does to a printed mold: skins, ribs, bearing."""
