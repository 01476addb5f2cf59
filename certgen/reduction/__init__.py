"""Readings and rig into load points, the load curve and the points read off it; SI throughout."""
