"""From a list of characters to a letter set on print plates."""
