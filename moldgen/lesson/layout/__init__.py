"""Layouts in the plane: pieces on openings, beds and stock, with their distances proved."""
