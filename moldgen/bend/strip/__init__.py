"""The strip itself: legs and bends, the flat layout, the bent shape, what is in the way."""
