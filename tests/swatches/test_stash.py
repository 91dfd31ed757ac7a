"""The stash loses nothing: undo, what is used up, search, zips from strangers, fabric files."""

import json
import zipfile
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from swatches.cloth import load_cloth, plain
from swatches.errors import FileFormatError, InputError, ProjectError
from swatches.fabric import Kind, Known, Origin, Remnant, Texture
from swatches.fabric_file import fabric_from_json, fabric_json, fabric_schema, read_fabric, write_fabric
from swatches.outline import outline_from
from swatches.remnants import remnant_of, remnant_shape, use_up
from swatches.stash import DATABASE, Stash
from swatches.stash_search import Wish, search
from swatches.stash_zip import export_stash, import_stash

BLUE = plain("blue", "Blue wool", "#2a4a8c")
RED = plain("red", "Red linen", "#a02a2a")
SQUARE = ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0))


def known(value, unit=""):
    return Known(value, unit, Origin.MEASURED)


@pytest.fixture
def stash(tmp_path):
    with Stash(tmp_path / "stash") as opened:
        yield opened


def tiled(fabric, seed=1):
    tile = np.random.default_rng(seed).integers(0, 255, (12, 10, 3), dtype=np.uint8)
    return replace(fabric, texture=Texture("", 0.2, 1.0, (2.0, 2.4))), tile


def test_what_is_added_is_there_after_reopening(stash, tmp_path):
    added = stash.add(*tiled(BLUE))
    with Stash(tmp_path / "stash") as again:
        assert again.fabrics() == (added,)
        cloth = load_cloth(again.fabric("blue"), again.pictures)
        assert cloth.tile.shape == (12, 10, 3)
        assert cloth.mm_per_px == 0.2


def test_ids_are_made_unique_and_equal_pictures_are_kept_once(stash):
    ids = [stash.add(*tiled(BLUE)).id for _ in range(3)]
    assert ids == ["blue", "blue-2", "blue-3"]
    assert len(list(stash.pictures.iterdir())) == 1
    assert stash.add(replace(BLUE, id="", name="Čhöir & Co <b>")).id == "choir-co-b"


def test_every_change_can_be_undone_in_turn(stash):
    states = [stash.fabrics()]
    stash.add(BLUE)
    states.append(stash.fabrics())
    stash.edit(replace(BLUE, name="Navy wool"))
    states.append(stash.fabrics())
    stash.add(replace(RED, remnants=(Remnant("end", SQUARE, SQUARE),)))
    states.append(stash.fabrics())
    stash.use_remnant("red", "end", [((0, 0), (100, 0), (100, 300), (0, 300))])
    states.append(stash.fabrics())
    stash.remove("blue")
    words = []
    for state in reversed(states):
        assert (words.append(stash.undo()), stash.fabrics())[1] == state
    assert words == ["remove blue", "cut from end", "add Red linen", "edit Navy wool", "add Blue wool"]
    assert stash.undo() is None


def test_what_is_not_there_is_said(stash):
    for act in (lambda: stash.fabric("x"), lambda: stash.remove("x"), lambda: stash.edit(replace(BLUE, id="x"))):
        with pytest.raises(ProjectError, match="id of a cloth"):
            act()


def test_two_edits_of_different_things_are_both_kept(stash):
    stash.add(BLUE)
    stash.edit(replace(BLUE, note="from aunt"), based_on=BLUE)
    merged = stash.edit(replace(BLUE, weight=known(210.0, "g/m²")), based_on=BLUE)
    assert (merged.note, merged.weight.value) == ("from aunt", 210.0)
    with pytest.raises(ProjectError, match="two different values for note"):
        stash.edit(replace(BLUE, note="from uncle"), based_on=BLUE)
    assert stash.fabric("blue") == merged


def test_length_is_used_up(stash):
    stash.add(replace(BLUE, length_left=known(1500.0, "mm")))
    assert stash.use_length("blue", 400).length_left.value == 1100.0
    with pytest.raises(InputError, match="1100 mm left"):
        stash.use_length("blue", 1200)
    stash.add(RED)
    with pytest.raises(InputError, match="unknown length"):
        stash.use_length("red", 10)


def test_a_cut_remnant_splits():
    remnants = (Remnant("end", SQUARE, SQUARE, grain_deg=3.0), Remnant("other", SQUARE, SQUARE))
    band = ((150.0, -10.0), (250.0, -10.0), (250.0, 310.0), (150.0, 310.0))
    left = use_up(remnants, "end", [band])
    assert [r.name for r in left] == ["end 1", "end 2", "other"]
    assert sum(remnant_shape(r).area for r in left[:2]) == pytest.approx(300 * 300)
    assert all(r.grain_deg == 3.0 for r in left[:2])
    assert use_up(remnants, "end", [SQUARE]) == (remnants[1],)
    with pytest.raises(InputError, match="one of: end, other"):
        use_up(remnants, "none", [band])
    with pytest.raises(InputError, match="without an area"):
        use_up(remnants, "end", [((0, 0), (1, 1))])


def test_a_traced_piece_becomes_a_remnant_with_its_flaws():
    outline = outline_from(Polygon(SQUARE, [((10, 10), (10, 40), (40, 40), (40, 10))]))
    stain = ((200.0, 200.0), (220.0, 200.0), (210.0, 220.0))
    remnant = remnant_of(outline, "end", grain_deg=90.0, flaws=[stain])
    assert len(remnant.holes) == 2
    assert remnant_shape(remnant).area == pytest.approx(120_000 - 900 - 200)
    assert Polygon(remnant.safe_outline).area == pytest.approx(398.5 * 298.5, abs=1)  # 0.75 mm inside
    with pytest.raises(InputError, match="without an area"):
        remnant_of(outline, "end", flaws=[((0, 0), (1, 1))])
    with pytest.raises(InputError, match="Leave this piece out"):
        remnant_of(outline_from(Polygon(((0, 0), (500, 0), (500, 1), (0, 1)))), "thread")


@settings(max_examples=40, deadline=None)
@given(st.floats(-50, 350), st.floats(-50, 250), st.floats(20, 200), st.floats(20, 200))
def test_using_up_conserves_cloth(x, y, wide, high):
    remnant = Remnant("end", SQUARE, SQUARE)
    box = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    left = use_up((remnant,), "end", [box])
    rest = Polygon(SQUARE).difference(Polygon(box)).area
    kept = sum(remnant_shape(r).area for r in left)
    assert kept <= rest + 1
    assert kept >= rest - 4 * 2500 - 60  # parts under 5 × 5 cm are thrown away
    assert all(Polygon(r.outline).contains(Polygon(r.safe_outline)) for r in left)


def test_search_finds_by_colour_weight_fibre_and_length(stash):
    heavy = replace(BLUE, weight=known(300.0), fibre=known({"wool": 80.0, "nylon": 20.0}), length_left=known(900.0))
    light = replace(RED, weight=known(120.0), remnants=(Remnant("end", SQUARE, SQUARE),), owned=False)
    unknown = plain("sky", "Sky poplin", "#3a5a9c")
    found = [heavy, light, unknown]
    ids = lambda **wish: [m.fabric.id for m in search(found, Wish(**wish))]  # noqa: E731
    assert ids(colour=heavy.colour.lab) == ["blue", "sky"]
    assert ids(weight=(250.0, 400.0)) == ["blue", "sky"]
    assert search(found, Wish(weight=(250.0, 400.0)))[1].unknown == ("weight",)
    assert ids(fibre="Wool") == ["blue", "red", "sky"]
    assert ids(length_mm=500.0) == ["blue", "sky"]
    assert ids(length_mm=250.0) == ["blue", "red", "sky"]
    assert ids(words="linen red") == ["red"]
    assert ids(owned=False) == ["red"]
    assert ids(kind=Kind.PRINT) == []
    assert ids(width_mm=100.0, words="sky") == ["sky"]


def test_export_and_import_are_a_round_trip(stash, tmp_path):
    stash.add(*tiled(BLUE))
    stash.add(RED)
    first = export_stash(stash, tmp_path / "a.zip")
    assert first.read_bytes() == export_stash(stash, tmp_path / "b.zip").read_bytes()
    with Stash(tmp_path / "other") as other:
        assert len(import_stash(other, first)) == 2
        assert other.fabrics() == stash.fabrics()
        assert export_stash(other, tmp_path / "c.zip").read_bytes() == first.read_bytes()
        assert import_stash(other, first) == ()  # again: nothing new
        other.edit(replace(RED, note="mine"))
        assert [f.id for f in import_stash(other, first)] == ["red-2"]
        other.undo()
        other.undo()
        other.undo()
        assert other.fabrics() == ()  # an import is undone as one


def hostile(tmp_path, files):
    path = tmp_path / "bad.zip"
    with zipfile.ZipFile(path, "w") as pack:
        for name, data in files.items():
            pack.writestr(name, data)
    return path


LISTED = {"format": "stash of cloth", "version": 1, "fabrics": []}


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({"stash.json": json.dumps(LISTED), "../evil.png": b"x"}, "evil.png"),
        ({"stash.json": json.dumps(LISTED), "/etc/evil": b"x"}, "evil"),
        ({"stash.json": json.dumps(LISTED), "pictures\\..\\evil.png": b"x"}, "evil"),
        ({"other.txt": b"x"}, "other.txt"),
        ({"stash.json": b"no json"}, "no JSON"),
        ({"stash.json": json.dumps([])}, "no exported stash"),
        ({"stash.json": json.dumps({**LISTED, "version": 9})}, "version 9"),
        ({"stash.json": json.dumps({**LISTED, "fabrics": [{"format": "fabric"}]})}, "cloth 1"),
        ({"stash.json": json.dumps(LISTED), f"pictures/{'a' * 64}.png": b"x"}, None),
    ],
)
def test_zips_from_strangers(stash, tmp_path, files, words):
    stash.add(RED)
    path = hostile(tmp_path, files)
    if words is None:  # a picture that nothing names is not even looked at
        assert import_stash(stash, path) == ()
        assert list(stash.pictures.iterdir()) == []
    else:
        with pytest.raises(InputError, match=words):
            import_stash(stash, path)
    assert [f.id for f in stash.fabrics()] == ["red"]
    assert not (tmp_path / "evil.png").exists()
    assert not (stash.folder.parent / "evil.png").exists()


def test_a_picture_that_is_not_what_its_name_says_is_refused(stash, tmp_path):
    stash.add(*tiled(BLUE))
    export_stash(stash, tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "a.zip") as pack:
        files = {n: pack.read(n) for n in pack.namelist()}
    picture = next(n for n in files if n.endswith(".png"))
    with Stash(tmp_path / "other") as other:
        with pytest.raises(FileFormatError, match="damaged picture"):
            import_stash(other, hostile(tmp_path, {**files, picture: files[picture] + b" "}))
        with pytest.raises(FileFormatError, match="without the picture"):
            import_stash(other, hostile(tmp_path, {"stash.json": files["stash.json"]}))
        assert other.fabrics() == ()
    with pytest.raises(FileFormatError, match="exported from a stash"):
        import_stash(stash, tmp_path / "stash" / DATABASE)


def test_fabric_files_are_a_round_trip_and_fit_their_schema(tmp_path):
    import jsonschema

    fabric, tile = tiled(replace(BLUE, weight=known(210.0, "g/m²"), remnants=(Remnant("end", SQUARE, SQUARE),)))
    path = write_fabric(fabric, tmp_path / "blue", tile)
    again = read_fabric(path)
    assert again == replace(fabric, texture=replace(fabric.texture, file="tile.png"))
    assert read_fabric(tmp_path / "blue") == again
    jsonschema.validate(json.loads(path.read_text()), fabric_schema())
    assert fabric_json(again) == path.read_text()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"format": "else"}, "something else"),
        ({"version": 2}, "version 2"),
        ({"kind": "tartan"}, "kind"),
        ({"colour": {"lab": [1e9, 0, 0], "expected_delta_e": 1, "reason": ""}}, "colour of"),
        ({"texture": {"file": "../x.png", "mm_per_px": 1}}, "outside the folder"),
        ({"texture": {"file": "x.png", "mm_per_px": 0}}, "mm per pixel"),
        ({"weight": {"value": None, "unit": "", "origin": "label"}}, "weight"),
    ],
)
def test_wrong_fabric_files_are_refused(change, words):
    body = json.loads(fabric_json(BLUE))
    with pytest.raises(FileFormatError, match=words):
        fabric_from_json(json.dumps({**body, **change}))


def test_text_that_is_no_fabric_is_refused(tmp_path):
    for text in ("", "[]", "{", '{"format": "fabric", "version": NaN}', "[" * 100_000):
        with pytest.raises(FileFormatError):
            fabric_from_json(text)
    with pytest.raises(FileFormatError, match="Read the cloth's photo first"):
        read_fabric(tmp_path / "none.json")
