"""The report in one HTML file, and the findings for programs."""
