"""Where vents go: by a rolled ball or by the order of arrival of a forming run."""
