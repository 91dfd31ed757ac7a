"""The split: all style lines of a garment as geometry in mm. The only thing the pattern engine reads."""
