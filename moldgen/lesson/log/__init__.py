"""Log of the table: what happened at each shot, kept, and fed back."""
