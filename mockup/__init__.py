"""Colour-block a garment: regions, style lines, colourways, pattern pieces, lays and prints."""
