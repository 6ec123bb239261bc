"""Ready-made bent strips: stands, holders, rests and hooks, sized by what they hold."""
