"""The photo on the dress form: its truth, and the parts it is made with held to closed forms."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from mockup.garment.mask import cut_out
from mockup.geometry import path as paths
from mockup.samples import choir, draft, make
from mockup.samples.studio import drape, dummy, light, raster, sewn, surface
from swatches.photo import read_photo


def test_truth_lies_in_the_picture() -> None:
    width, height = read_photo(choir.FORM_PHOTO).size
    outline = shapely.Polygon(choir.FORM_OUTLINE)
    assert outline.is_valid
    assert shapely.box(0, 0, width, height).contains(outline)
    assert 0.25 < outline.area / (width * height) < 0.6
    for name, point in choir.FORM_LANDMARKS.items():
        assert outline.buffer(12).contains(shapely.Point(point)), name
    marks = choir.FORM_LANDMARKS
    assert marks["hem-left"][0] > marks["hem-right"][0], "the left of a front picture is the wearer's right"
    assert marks["neck-centre"][1] < marks["underarm-left"][1] < marks["hem-centre"][1]


def test_twelve_loose_points_are_loose() -> None:
    around = shapely.Polygon(choir.FORM_AROUND)
    outline = shapely.Polygon(choir.FORM_OUTLINE)
    assert len(choir.FORM_AROUND) == 12
    assert around.is_valid
    assert around.area > 1.05 * outline.area
    assert around.intersection(outline).area > 0.99 * outline.area


def test_drawn_round_it_is_cut_out_of_its_photo() -> None:
    photo = read_photo(choir.FORM_PHOTO)
    cut = cut_out(photo, around=choir.FORM_AROUND).alpha > 0.5
    truth = shapely.Polygon(choir.FORM_OUTLINE)
    h, w = cut.shape
    y, x = np.mgrid[2:h:4, 2:w:4]
    inside = shapely.contains_xy(truth, x + 0.5, y + 0.5)
    seen = cut[2:h:4, 2:w:4]
    assert (inside & seen).sum() / (inside | seen).sum() >= 0.96  # our aim for rendered garments


def test_harmonics_of_a_matt_surface() -> None:
    # The irradiance of a uniform sky of radiance 1 is π for every normal, here given over π; that of a sky that is
    # 1 + cos θ about an axis a is 1 + 2/3 · (n · a): both by integration.
    k = np.arange(4000)
    y = 1 - 2 * (k + 0.5) / 4000
    turn = k * np.pi * (3 - np.sqrt(5))
    r = np.sqrt(1 - y**2)
    sky = np.stack([r * np.cos(turn), y, r * np.sin(turn)], axis=1)
    axis = np.array([0.6, 0.0, 0.8])
    n = np.array([[0.0, 1.0, 0.0], [0.6, 0.0, 0.8], [-0.8, 0.0, 0.6], [-0.6, 0.0, -0.8]])
    step = 4 * np.pi / 4000
    for radiance, expected in ((np.ones(4000), np.ones(4)), (1 + sky @ axis, 1 + 2 / 3 * (n @ axis))):
        gathered = (light.basis(sky) * light.COSINE * radiance[:, None] * step).sum(axis=0) / np.pi
        np.testing.assert_allclose(light.basis(n) @ gathered, expected, atol=2e-3)


def test_a_blocker_throws_a_shadow() -> None:
    lamps = light.Lamps(np.array([[0.0, 1.0, 0.0]]), np.ones((1, 3)))
    roof = np.array([[-50.0, 40.0, -50.0], [50.0, 40.0, -50.0], [50.0, 40.0, 50.0], [-50.0, 40.0, 50.0]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    points = np.array([[0.0, 0.0, 0.0], [200.0, 0.0, 0.0]])
    up = np.tile([0.0, 1.0, 0.0], (2, 1))
    got = light.gathered(points, up, roof, faces, lamps, mm_per_px=2.0)[:, 0, 0]
    assert got[0] == pytest.approx(0.0, abs=1e-9)
    assert got[1] > 0.2


def test_the_nearer_triangle_is_seen() -> None:
    screen = np.array([[1.0, 1.0], [31.0, 1.0], [1.0, 31.0], [6.0, 6.0], [12.0, 6.0], [6.0, 12.0]])
    depth = np.array([0.0, 0.0, 0.0, 5.0, 5.0, 5.0])
    hits = raster.rasterise(screen, depth, np.array([[0, 1, 2], [3, 4, 5]]), (32, 32))
    assert hits.face[3, 3] == 0
    assert hits.face[7, 7] == 1
    assert hits.face[30, 30] == -1
    assert hits.depth[7, 7] == pytest.approx(5.0)
    assert (hits.face >= 0).sum() == pytest.approx(450, abs=32)
    x, y = np.einsum("k,kj->j", hits.weights[3, 3], screen[:3])
    assert (x, y) == pytest.approx((3.5, 3.5), abs=1e-4)


@pytest.fixture(scope="module")
def tunic() -> sewn.Sewn:
    return sewn.sew(34.0)


def test_pieces_are_sewn_into_one_cloth(tunic: sewn.Sewn) -> None:
    area = 0.0
    for corners in tunic.faces:
        a, b, c = tunic.flat[corners]
        area += abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / 2
    sizes = {p.name: p.finished_area_mm2 for p in draft.pieces()}
    assert area == pytest.approx(2 * (sizes["front"] + sizes["back"] + sizes["sleeve"]), rel=0.01)
    sides = np.concatenate([tunic.corner_vertex[tunic.faces][:, pair] for pair in ([0, 1], [1, 2], [2, 0])])
    _, uses = np.unique(np.sort(sides, axis=1), axis=0, return_counts=True)
    assert uses.max() == 2
    _, directed = np.unique(sides, axis=0, return_counts=True)
    assert directed.max() == 1, "all triangles face the same way, across seams too"
    rim = (uses == 1).sum() * 34.0
    length = {e.name: paths.length(e.path) for p in draft.pieces() for e in p.edges if p.name in ("front", "sleeve")}
    neck = 2 * (paths.length(draft.neck(True)) + paths.length(draft.neck(False)))
    assert rim == pytest.approx(4 * 328 + neck + 2 * length["hem"], rel=0.08), "hems and neck only"


def test_it_hangs_on_the_form_without_stretching(tunic: sewn.Sewn) -> None:
    hung = drape.drape(tunic, tunic.start, seconds=0.6, passes=2)
    edges, rest = drape._edges(tunic)
    strain = np.linalg.norm(hung[edges[:, 0]] - hung[edges[:, 1]], axis=1) / rest - 1
    assert np.median(np.abs(strain)) < 0.03
    assert np.percentile(strain, 99) < 0.25
    again, touching = dummy.push_out(hung)
    assert np.abs(again - hung).max() < 2.0, "no cloth in the form"
    assert touching.mean() < 0.9
    assert -110 < hung[tunic.loops["front:neck-left"][-1], 1] < 20, "it has not slipped off the shoulders"
    assert hung[:, 1].min() > -900


def test_the_same_cloth_falls_the_same_way(tunic: sewn.Sewn) -> None:
    one, two = (drape.drape(tunic, tunic.start, seconds=0.02, passes=2) for _ in range(2))
    np.testing.assert_array_equal(one, two)


def test_finer_mesh_keeps_the_flat_area(tunic: sewn.Sewn) -> None:
    mesh = surface.finer(tunic, tunic.start)
    assert len(mesh.faces) == 4 * len(tunic.faces)
    assert np.bincount(mesh.corner_vertex, minlength=len(mesh.points)).min() == 1

    def area(flat: np.ndarray, faces: np.ndarray) -> float:
        a, b, c = (flat[faces[:, k]] for k in range(3))
        return float(np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum() / 2)

    assert area(mesh.flat, mesh.faces) == pytest.approx(area(tunic.flat, tunic.faces), rel=1e-9)
    assert len(surface.carried(tunic, tunic.start)) == len(mesh.points)


@pytest.mark.slow
def test_the_photo_is_made_again() -> None:
    files = make.form_photo()
    got, kept = read_photo(files["form.jpg"]).rgb8, read_photo(choir.FORM_PHOTO).rgb8
    assert np.abs(got.astype(int) - kept).mean() < 1.0
