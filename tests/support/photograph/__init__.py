"""Made photographs of drawings whose true outline is known."""
