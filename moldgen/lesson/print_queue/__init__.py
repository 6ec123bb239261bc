"""The print queue of a lesson: plates over several printers, and when each is done."""
