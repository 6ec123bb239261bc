"""A mold built from boards: layers, saw angles, dowels and bores."""
