"""File formats: readers and pens, one format a file."""
