"""A fabric for every panel, painted at true scale with the folds kept."""
