"""Infill: how much of a print's inside is plastic, where nobody says otherwise."""

USUAL_INFILL = 0.2
"""Share of the inside between walls and skins. [-].

Common practice is 15 to 25 % (no source). A fifth is taken for load, heat and estimate alike: lines
of 0.4 mm in two directions lie 4 mm apart (derived: twice the width over the share), over which
every printer in stock bridges cleanly, and 1.2 mm of skin stands the full vacuum in every filament.
"""
