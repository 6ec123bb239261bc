"""The roster of a class: names, and what each of them makes, from a list that somebody has."""
