"""The Python interface: what a program calls, and the objects it gets back."""
