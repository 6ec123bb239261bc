"""Cards for the work at the table: one side of paper, to be read at arm's length."""
