"""Papers for the work at the table: job cards, the wall chart, the risk form, labels."""
