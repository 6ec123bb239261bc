"""How a bent strip stands on a desk, and what it carries."""
