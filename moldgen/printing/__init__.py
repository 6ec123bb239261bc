"""Whatever a part needs before it goes to the printer."""
