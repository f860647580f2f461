"""Suspension geometry of one left wheel: arrays in, arrays out, in millimeters and radians.

Axes are those of ISO 8855: x forward, y to the left, z up.  A right wheel is mirrored before it
comes here, so every function may take y as positive outboard.
"""
