"""What is cut under a mold: air channels, feet, label, arrow, insert, pry slots."""
