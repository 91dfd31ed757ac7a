"""Style lines on a view, and the panels that they make."""
