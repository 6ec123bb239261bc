"""Work in a process of its own, which can do no more than the work needs."""
