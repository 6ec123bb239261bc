"""From a sheet and a table to heating and cooling times."""
