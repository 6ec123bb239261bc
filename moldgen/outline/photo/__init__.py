"""Photographs of drawings: paper, shadow and table told from ink."""
