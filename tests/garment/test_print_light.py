"""Light on printed garments against rendered truth: read colour by colour it is found, read as plain it is not."""

import json

import numpy as np
import pytest
from rendered import encode, rendered

from mockup.colourways.paint import recolour
from mockup.garment.shading import shading
from swatches.colour import delta_e_2000, linear_to_lab, srgb_to_linear
from swatches.photo import write_png
from ui.commands.main import run

CREAM, NAVY, RED = (0.75, 0.68, 0.5), (0.01, 0.015, 0.06), (0.45, 0.03, 0.04)


def printed(kind, size=420):
    """A rendered cream tee with a print in it: the same folds, noise and haze."""
    scene = rendered(4, size=size, colour=np.array(CREAM))
    y, x = np.indices(scene.alpha.shape)
    colours = {
        "dots": np.where((((x % 36 - 18) ** 2 + (y % 36 - 18) ** 2) < 100)[..., None], NAVY, CREAM),
        "stripes": np.where(((x // 14) % 2 == 0)[..., None], RED, CREAM),
        "three": np.array([CREAM, RED, (0.02, 0.1, 0.25)])[(x // 24 + y // 24) % 3],
    }[kind]
    light = srgb_to_linear(scene.photo).astype(float)
    light += scene.alpha[..., None] * (colours - np.array(CREAM)) * scene.light[..., None]
    return scene, np.rint(np.clip(encode(np.clip(light, 0, 1)), 0, 1) * 255).astype(np.uint8)


def off(scene, found, target):
    inside = scene.alpha > 0.99
    light = scene.light / np.percentile(scene.light[inside], 90)
    truth = linear_to_lab(np.clip(np.array(target) * light[..., None], 0, 1))
    return delta_e_2000(linear_to_lab(srgb_to_linear(found).astype(float)), truth)[inside]


@pytest.mark.parametrize(
    "kind",
    ["stripes", pytest.param("dots", marks=pytest.mark.slow), pytest.param("three", marks=pytest.mark.slow)],
)
def test_a_print_goes_and_the_folds_stay(kind):
    scene, photo = printed(kind, 360)
    light = shading(photo, scene.alpha, printed=True)
    plain = shading(photo, scene.alpha, printed=False)
    for target in (CREAM, NAVY):
        found = off(scene, recolour(photo, scene.alpha, np.array(target), light_on=light), target)
        before = off(scene, recolour(photo, scene.alpha, np.array(target), light_on=plain), target)
        assert found.mean() < 1.5
        assert np.percentile(found, 95) < 2.0
        assert found.mean() < 0.2 * before.mean()
    assert light.printed
    assert any("print" in w for w in light.warnings)
    assert not plain.printed


@pytest.mark.slow
def test_a_plain_garment_called_printed_is_read_as_well_as_before():
    scene = rendered(6, size=300, colour=np.array(RED))
    light = shading(scene.photo, scene.alpha, printed=True)
    found = off(scene, recolour(scene.photo, scene.alpha, np.array(CREAM), light_on=light), CREAM)
    plain = off(scene, recolour(scene.photo, scene.alpha, np.array(CREAM)), CREAM)
    assert found.mean() < plain.mean() + 0.3


def test_the_same_photo_gives_the_same_light_and_the_colour_that_there_is_most_of():
    scene, photo = printed("dots", 220)
    one, two = shading(photo, scene.alpha, printed=True), shading(photo, scene.alpha, printed=True)
    assert np.array_equal(one.s, two.s)
    assert float(delta_e_2000(linear_to_lab(one.source.astype(float)), linear_to_lab(np.array(CREAM) * 0.85))) < 6


def test_by_command_with_its_warning(tmp_path, capsys):
    scene, photo = printed("stripes", 240)
    write_png(tmp_path / "photo.png", photo)
    write_png(tmp_path / "mask.png", np.rint(scene.alpha * 255).astype(np.uint8))
    base = [
        "recolour",
        str(tmp_path / "photo.png"),
        "--mask",
        str(tmp_path / "mask.png"),
        "--fabric",
        "#c8b89a",
        "--json",
    ]
    said = {}
    for name, options in {
        "as found": [],
        "printed": ["--printed"],
        "plain": ["--plain"],
        "hazy": ["--flare", "0"],
    }.items():
        assert run([*base, *options, "--out", str(tmp_path / f"{name}.png")]) == 0
        said[name] = json.loads(capsys.readouterr().out)["warnings"]
    assert said["printed"] == said["as found"]
    assert "traces of the print may show" in said["printed"][0]
    assert said["plain"] == []
    pictures = {name: (tmp_path / f"{name}.png").read_bytes() for name in said}
    assert pictures["printed"] == pictures["as found"]
    assert len(set(pictures.values())) == 3
    assert run([*base, "--flare", "2", "--out", str(tmp_path / "x.png")]) == 2


def test_a_printed_garment_before_and_after(same_picture):
    """Photo, read as plain, read colour by colour: looked at, and held."""
    rows = []
    for kind, colour in (("stripes", CREAM), ("three", (0.05, 0.16, 0.1))):
        scene, photo = printed(kind, 300)
        row = [photo]
        for said in (False, True):
            light = shading(photo, scene.alpha, printed=said)
            row.append(recolour(photo, scene.alpha, np.array(colour), light_on=light))
        rows.append(np.hstack(row))
    same_picture(np.vstack(rows), "printed-before-after")
