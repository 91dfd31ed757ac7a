"""Whether a picture that is given as a drawing is a photo: both skins ask before they read it."""

from __future__ import annotations

from mockup.garment.picture_kind import traits_of
from mockup.garment.regions import pixels_of
from mockup.journey.drawings import read_drawing
from mockup.journey.known import Source
from swatches.photo import Photo


def looks_like_photo(picture: Source, *, what: str = "drawing") -> bool:
    """Whether a picture looks like a photo of a garment and not like a drawing; an SVG never does.

    Raises:
        PictureError: it cannot be read.
    """
    read = read_drawing(picture, what=what)
    return isinstance(read, Photo) and traits_of(pixels_of(read)).photo
