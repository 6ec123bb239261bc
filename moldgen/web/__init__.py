"""The page: a face for people who would rather point than type commands.

It computes nothing of its own: every input comes from the specifications that the command line
reads, and every result from the stages that the Python interface offers.
"""
