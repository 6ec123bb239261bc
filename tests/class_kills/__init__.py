"""A class whose run is killed at random moments, again and again."""
