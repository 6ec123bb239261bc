"""The sheet formed over a mold: setup of a forming run, and what is read off it."""
