"""Pictures as PNG: lit views, sections, maps."""
