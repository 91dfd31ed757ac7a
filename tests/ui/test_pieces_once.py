"""No cloth is kept twice: a photo that is read again, in another frame, gives the pieces that are kept already."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from swatches.errors import InputError
from swatches.job import QUIET
from swatches.kept import load_reading
from swatches.samples.cupboard import SWATCHES
from ui.parts.session import Session
from ui.questions.cloth_does import DOES
from ui.questions.cloth_photos import keep_again, keep_photos, read_again, read_photos
from ui.questions.cloth_pieces import with_pieces


def test_a_photo_that_is_read_again_does_not_give_its_pieces_twice(session: Session, tmp_path: Path) -> None:
    photo = tmp_path / "oat.jpg"
    photo.write_bytes(next(s.photo for s in SWATCHES if s.id == "oat").read_bytes())
    before = {f.id for f in session.need().fabrics}
    keep_photos(session, read_photos(session, QUIET, str(photo), "auto"))
    (new,) = {f.id for f in session.need().fabrics} - before
    message = {"do": "pieces", "cloth": new}
    DOES["pieces"](session, tmp_path, message, {})
    kept = session.need().fabric(new).remnants
    assert len(kept) == 1
    # read again with a bar measured at 99 mm: the same cloth 1 % smaller, in a frame of its own, under another name
    keep_again(session, read_again(session, QUIET, {"cloth": new, "reference": "sheet", "bar": "99 mm"}))
    fabric = session.need().fabric(new)
    assert fabric.reading != kept[0].photo
    with pytest.raises(InputError, match=r"the cloth of piece 1 again.*No cloth can be cut twice"):
        DOES["pieces"](session, tmp_path, message, {})
    assert session.need().fabric(new).remnants == kept
    # with one more piece of cloth in the photo, that one is kept and the other stays
    home = session.folder / "fabrics" / new
    read = load_reading(home, fabric)
    assert read is not None
    (outline,) = read.outlines
    away = tuple((x + 400.0, y) for x, y in outline.points)
    more = replace(read, outlines=(outline, replace(outline, points=away, safe=away)))
    with_more, again = with_pieces(fabric, more, home)
    assert [r.name for r in with_more.remnants] == ["piece 1", "piece 2"]
    assert again == ("piece 1",)
    # and taken off, it can be kept anew
    bare = replace(fabric, remnants=())
    assert len(with_pieces(bare, read, home)[0].remnants) == 1
