"""The project's cloth: the same one again, a reading that is kept and corrected, and no photo's secrets."""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from mockup.journey.cloths import plain_fabric, put_fabric, put_reading, read_cloth
from mockup.project import Project
from swatches.cloth import load_cloth
from swatches.errors import FileFormatError
from swatches.fabric import Kind
from swatches.kept import Asked, kept_photo, load_reading
from swatches.photo import read_photo
from swatches.record import written

AREA = (20.0, 20.0, 260.0, 200.0)


@pytest.fixture(scope="module")
def shop_picture(tmp_path_factory):
    """A shop's picture: stripes of 24 px, 300 × 240 px, with a place and a time in it."""
    x = np.arange(300)
    stripes = np.where((x // 12 % 2)[None, :, None], [200, 190, 170], [40, 60, 120]).astype(np.uint8)
    picture = Image.fromarray(
        np.repeat(stripes, 240, axis=0) + np.random.default_rng(1).integers(0, 3, (240, 300, 3), np.uint8)
    )
    exif = Image.Exif()
    exif[0x0132] = "2026:11:01 10:00:00"
    exif.get_ifd(0x8825)[1] = "N"
    path = tmp_path_factory.mktemp("shop") / "shop.jpg"
    picture.save(path, quality=95, exif=exif)
    return path


def read(path, **asked):
    return read_cloth(read_photo(path), Asked(**{"area": AREA, **asked}), name="ticking")


def test_the_same_cloth_twice_is_one_cloth(shop_picture, tmp_path):
    project, first = put_fabric(tmp_path, Project("p"), read(shop_picture))
    project, second = put_fabric(tmp_path, project, read(shop_picture))
    assert second == first
    assert len(project.fabrics) == 1
    # as a record with its tile, as the command line has it
    tile = read_photo(tmp_path / "fabrics" / first.id / "tile.png").rgb8
    project, third = put_fabric(tmp_path, project, replace(first, id="other"), tile=tile)
    assert third.id == first.id
    # another weight, another tile, another colour: another cloth
    project, other = put_fabric(tmp_path, project, written(first, "weight", "200"), tile=tile)
    assert other.id == "ticking-2"
    project, turned = put_fabric(tmp_path, project, first, tile=np.ascontiguousarray(tile[:, ::-1]))
    assert turned.id == "ticking-3"
    for colour in ("#aa3344", "#aa3344", "#aa3345"):
        project, _ = put_fabric(tmp_path, project, plain_fabric(colour, "brick"))
    assert [f.id for f in project.fabrics] == ["ticking", "ticking-2", "ticking-3", "brick", "brick-2"]


def test_a_kept_reading_is_corrected_and_the_older_one_stays(shop_picture, tmp_path):
    project, first = put_fabric(tmp_path, Project("p"), read(shop_picture))
    home = tmp_path / "fabrics" / first.id
    kept = load_reading(home, first)
    assert kept.size == (300, 240)
    assert not kept.scale_known
    assert kept.asked == Asked(area=AREA)
    project = project.put_fabric(written(first, "weight", "200"))
    again = replace(kept.asked, reference=0.5, kind=Kind.STRIPE)
    photo = kept_photo(home, kept)
    project, second = put_reading(tmp_path, project, first.id, read_cloth(photo, again))
    assert second.weight.value == 200
    assert second.texture.repeat_mm[0] == pytest.approx(12.0, rel=0.01)  # 24 px at 0.5 mm
    assert load_reading(home, second).scale_known
    assert load_reading(home, first) == kept, "undo finds the older reading"
    wide = [load_cloth(f, home) for f in (first, second)]
    assert wide[0].mm_per_px != wide[1].mm_per_px
    corner = kept.to_mm(((10.0, 20.0),))
    assert kept.to_px(corner) == ((10.0, 20.0),)


def test_nothing_of_the_photos_place_or_time_is_kept(shop_picture, tmp_path):
    _, fabric = put_fabric(tmp_path, Project("p"), read(shop_picture))
    for file in (tmp_path / "fabrics" / fabric.id).iterdir():
        data = file.read_bytes()
        assert b"Exif" not in data, file.name
        assert b"2026:11" not in data, file.name


def test_a_reading_from_a_stranger_opens_nothing_else(shop_picture, tmp_path):
    _, fabric = put_fabric(tmp_path, Project("p"), read(shop_picture))
    home = tmp_path / "fabrics" / fabric.id
    for name in ("../../secret.json", "/etc/passwd", "reading-.json", ""):
        assert load_reading(home, replace(fabric, reading=name)) is None
    file = home / fabric.reading
    file.write_bytes(file.read_bytes().replace(b'"photo":"photo-', b'"photo":"../photo-'))
    with pytest.raises(FileFormatError, match="outside its folder"):
        load_reading(home, fabric)
    file.write_bytes(b"{}")
    with pytest.raises(FileFormatError, match="Add the photo of this cloth again"):
        load_reading(home, fabric)
