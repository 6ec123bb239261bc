"""Random jobs, each built and its solids looked at by two other programs."""
