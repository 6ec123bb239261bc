"""What the page answers, a file for each part of it."""
