"""Flow through holes and passages, and emptying a volume."""
