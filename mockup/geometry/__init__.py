"""Paths, curves, offsets and faces in the plane. Knows no garment words."""
