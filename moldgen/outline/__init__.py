"""Ways in for 2-D shapes.

Every way in returns a shapely ``MultiPolygon`` in millimeters, y up, valid, with outer rings
counter-clockwise and holes clockwise.
"""
