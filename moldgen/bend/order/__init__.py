"""The order of bends that never takes a leg through the heater or the strip."""
