"""Height fields: sampling, rolled balls, envelopes, pockets, triangulation."""
