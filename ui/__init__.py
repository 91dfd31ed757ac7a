"""Two thin skins over the engine: the command line and the page."""
