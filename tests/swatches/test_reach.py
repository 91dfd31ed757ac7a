"""The aims that need many views: loose cards, outlines, and the chart under many lights.

Lights and reflectances are spectra of colour-science; cameras are its measured sensitivities.
"""

import colour
import cv2
import numpy as np
import pytest
import swatches_cloths as drawn
from shapely.geometry import Polygon
from swatches_camera import decode, random_camera, take

from swatches import reference as ref
from swatches.colour import delta_e_2000, linear_to_lab
from swatches.find_cards import find_cards
from swatches.find_chart import corrected, fit_correction
from swatches.photo import photo_from_array
from swatches.read_swatch import read_swatch

D65 = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]


def table(rng, piece=None, ink=(40, 60, 110)):
    """Four cards anyhow at the corners of 1.1 × 0.7 m, and a piece of cloth; 1 mm a px."""
    scene = np.full((1000, 1400, 3), drawn.linear([150, 140, 125])[0], np.float32)
    middles = []
    for marker, (x, y) in zip(ref.CARD_IDS, ((150, 150), (1250, 150), (1250, 850), (150, 850)), strict=True):
        x, y = x + rng.uniform(-30, 30), y + rng.uniform(-30, 30)
        card = decode(ref.card_picture(marker, 0.5)) * np.float32(0.876)
        warp = cv2.getRotationMatrix2D((79.5, 79.5), rng.uniform(-25, 25), 0.5)
        warp[:, 2] += np.array([x - 0.5, y - 0.5]) - 79.5
        cover = cv2.warpAffine(np.ones_like(card), warp, (1400, 1000), flags=cv2.INTER_AREA)
        scene = scene * (1 - cover) + cv2.warpAffine(card, warp, (1400, 1000), flags=cv2.INTER_AREA)
        middles.append((x, y))
    if piece is not None:
        over = np.zeros((4000, 5600), np.uint8)
        cv2.fillPoly(over, [np.rint(np.array(piece) * 4).astype(np.int32)], 255)
        cover = (cv2.resize(over, (1400, 1000), interpolation=cv2.INTER_AREA) / 255.0)[..., None]
        scene = scene * (1 - cover) + drawn.linear(ink)[0] * cover
    return scene.astype(np.float32), np.array(middles)


def far_apart(rng):
    while True:
        p, q = rng.uniform((150, 150), (1250, 850), (2, 2))
        if np.linalg.norm(p - q) > 300:
            return np.stack([p, q])


@pytest.mark.slow
def test_lengths_among_loose_cards_over_twenty_views():
    # Reach: loose cards, 1 m apart, anywhere between: worst ≤ 0.3 % over 20 random views
    worst = 0.0
    for seed in range(20):
        rng = np.random.default_rng(seed)
        scene, middles = table(rng)
        camera = random_camera(rng, (700, 500), size=(4000, 3000), width_mm=1600, tilt_deg=rng.uniform(0, 12))
        photo = photo_from_array(take(camera, scene, 1.0, seed=seed, blur_px=0.8))
        plane, _ = find_cards(photo, float(np.linalg.norm(middles[1] - middles[0])))
        for _ in range(200):
            ends = far_apart(rng)
            a, b = plane.to_mm(camera.project(ends))
            worst = max(worst, abs(float(np.linalg.norm(b - a) / np.linalg.norm(ends[1] - ends[0])) - 1))
    assert worst <= 0.003


def star(rng):
    """An irregular outline between the cards."""
    turn = np.sort(rng.uniform(0, 2 * np.pi, 11))
    reach = rng.uniform(150, 270, 11)
    return np.column_stack([700 + 1.4 * reach * np.cos(turn), 500 + reach * np.sin(turn)])


@pytest.mark.slow
def test_outlines_of_remnants():
    # Reach: area ≤ 0.5 %, mean Hausdorff ≤ 4 px; safe outline: area outside the truth ≤ 0.01 %
    far, outside, areas = [], [], []
    for seed in range(8):
        rng = np.random.default_rng(50 + seed)
        piece = star(rng)
        scene, middles = table(rng, piece)
        camera = random_camera(rng, (700, 500), size=(3200, 2400), width_mm=1550)
        reading = read_swatch(
            photo_from_array(take(camera, scene, 1.0, seed=seed)),
            reference="cards",
            distance_mm=float(np.linalg.norm(middles[1] - middles[0])),
        )
        # the reading's mm have their own origin and turn: bring the truth there by the cards' middles
        _, found = find_cards(photo_from_array(take(camera, scene, 1.0, seed=seed)), None)
        plane = find_cards(
            photo_from_array(take(camera, scene, 1.0, seed=seed)), float(np.linalg.norm(middles[1] - middles[0]))
        )[0]
        truth_mm = plane.to_mm(camera.project(piece)) * np.array([1, -1])
        truth, got = Polygon(truth_mm), Polygon(reading.outline.points)
        areas.append(abs(got.area / truth.area - 1))
        far.append(got.hausdorff_distance(truth) / reading.mm_per_px)
        outside.append(Polygon(reading.outline.safe).difference(truth).area / truth.area)
        assert len(found) == 4
    assert max(areas) <= 0.005
    assert np.mean(far) <= 4
    assert max(outside) <= 1e-4


def spectra_of(values, shape):
    return np.array([v.copy().align(shape).values for v in values])


def lights_and_cameras():
    shape = colour.SpectralShape(400, 700, 10)
    names = ["A", "D50", "D65", "FL2", "FL11", "LED-B1", "LED-B4"]
    lights = {n: colour.SDS_ILLUMINANTS[n].copy().align(shape).values for n in names}
    cameras = {n: s.copy().align(shape).values for n, s in colour.MSDS_CAMERA_SENSITIVITIES.items()}
    return shape, lights, cameras


def smooth_reflectances(rng, count, shape):
    """Dyed cloth: smooth random reflectances, sums of three broad bumps over a base."""
    wavelengths = shape.wavelengths
    found = []
    for _ in range(count):
        curve = np.full(len(wavelengths), rng.uniform(0.02, 0.3))
        for _ in range(3):
            curve += rng.uniform(-0.25, 0.6) * np.exp(
                -(((wavelengths - rng.uniform(400, 700)) / rng.uniform(25, 110)) ** 2)
            )
        found.append(np.clip(curve, 0.015, 0.95))
    return np.array(found)


def true_lab(reflectances, shape):
    """CIELAB under D65 by the CIE 1931 observer."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values
    light = colour.SDS_ILLUMINANTS["D65"].copy().align(shape).values
    xyz = (reflectances * light) @ observer / (light @ observer)[1]
    white = light @ observer / (light @ observer)[1]
    return colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(white))


def floor(responses, lab):
    """The best that a root-polynomial of this degree can do: fitted to the very samples that are judged."""
    return float(
        delta_e_2000(linear_to_lab(np.clip(corrected(responses, fit_correction(responses, lab)), 0, 2)), lab).mean()
    )


def test_a_chart_comes_near_the_best_fit():
    # Reach: colour with a 24-patch chart, simulated lights × sensors, samples not fitted: mean ≤ 1.15 × the floor
    shape, lights, cameras = lights_and_cameras()
    chart = spectra_of(colour.SDS_COLOURCHECKERS["ISO 17321-1"].values(), shape)
    chart_lab = true_lab(chart, shape)
    cloth = smooth_reflectances(np.random.default_rng(1), 80, shape)
    cloth_lab = true_lab(cloth, shape)
    ours, best, plain = [], [], []
    for light in lights.values():
        for sensor in cameras.values():
            white = light @ sensor
            seen, on_chart = (r * light @ sensor / white for r in (cloth, chart))
            correction = fit_correction(on_chart, chart_lab)
            made = linear_to_lab(np.clip(corrected(seen, correction), 0, 2))
            ours.append(float(delta_e_2000(made, cloth_lab).mean()))
            best.append(floor(seen, cloth_lab))
            plain.append(float(delta_e_2000(linear_to_lab(np.clip(seen, 0, 2)), cloth_lab).mean()))
    assert np.mean(ours) < 0.6 * np.mean(plain)
    assert np.mean(ours) <= 1.15 * np.mean(best)
