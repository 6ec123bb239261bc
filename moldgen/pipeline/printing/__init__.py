"""From a part to prints: measure, refit, split, test pieces."""
