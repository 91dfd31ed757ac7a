"""The built-in garment: an invented choir tunic, its drawings, photo and pieces."""
