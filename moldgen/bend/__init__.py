"""Floor 3: strips bent on a strip heater: layout, dwell, shape, order, jigs."""
