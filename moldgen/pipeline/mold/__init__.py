"""From a job to a mold, stage by stage, and to its files."""
