"""From a part, a picture or a height map that somebody brings: check and adapt."""
