"""Jigs for bending: blocks, presses for closed folds, marking and angle gauges."""
