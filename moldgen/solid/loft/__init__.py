"""Walls with draft and radii, by contours."""
