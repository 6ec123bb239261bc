"""A class and its lesson: who makes what, and all that is needed for it."""
