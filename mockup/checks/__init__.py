"""Can it be sewn, washed and seen? Checks judge what others measure: figure, limit, source."""
