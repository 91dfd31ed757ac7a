"""Take the photo: the draped tunic on its form before a wall, seen by a camera at chest height.

:func:`shoot` also gives the truth about the picture: the tunic's mask and outline, and where its landmarks are.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from mockup.geometry.path import Floats
from mockup.samples.studio import drape, dummy, light, surface
from mockup.samples.studio.raster import Hits, rasterise
from mockup.samples.studio.sewn import Ints, Sewn, sew
from swatches.colour import hex_to_linear, linear_to_srgb8
from swatches.samples.grain import blur, noise, random

SIZE_PX = (1500, 2000)
_MM_PER_PX = 0.685  # at the depth of the form's middle
_MIDDLE: Floats = np.array([0.0, -395.0])
_AWAY_MM = 3400.0
_WALL_Z = -420.0
_CALICO, _COVER, _WOOD, _WALL = "#cfc2a8", "#3b4654", "#8a6238", "#8496a4"
_PASSES = ((0.25, 0.25), (0.75, 0.30), (0.30, 0.75), (0.70, 0.70))  # four looks a pixel
_CLOTH, _FORM, _POLE = 0, 1, 2


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """The photo and what is true of it.

    Attributes:
        rgb: sRGB uint8, shape (2000, 1500, 3).
        cover: share of each pixel that is tunic, shape (2000, 1500).
        landmarks: name → px.
    """

    rgb: NDArray[np.uint8]
    cover: NDArray[np.float32]
    landmarks: dict[str, tuple[float, float]]


def draped() -> tuple[Sewn, Floats]:
    """Sew the tunic and let it fall, first as a coarse mesh, then as a fine one."""
    coarse = sew(24.0)
    rough = drape.drape(coarse, coarse.start, seconds=1.6, passes=2)
    fine = sew(8.0)
    return fine, drape.drape(fine, drape.onto(fine, coarse, rough), seconds=0.6, passes=3)


def project(points: Floats) -> tuple[Floats, Floats]:
    """Where world points are in the photo, px, and their depth, larger is nearer."""
    nearer = _AWAY_MM / (_AWAY_MM - points[..., 2])
    x = SIZE_PX[0] / 2 + (points[..., 0] - _MIDDLE[0]) * nearer / _MM_PER_PX
    y = SIZE_PX[1] / 2 - (points[..., 1] - _MIDDLE[1]) * nearer / _MM_PER_PX
    return np.stack([x, y], axis=-1), points[..., 2]


@dataclass(frozen=True, slots=True, eq=False)
class _Scene:
    points: Floats
    normals: Floats
    faces: Ints  # of vertices
    kind: Ints  # of each face
    gathered: NDArray[np.float32]  # of vertices, then of the cloth's vertices seen from inside
    mesh: surface.Mesh  # its faces come first
    shade: Floats
    shade_faces: Ints


def shoot(sewn: Sewn, points: Floats) -> Shot:
    """Photograph the draped tunic; the same drape gives the same picture."""
    rng = random(880)
    scene = _scene(sewn, points)
    wall = _wall(scene, rng)
    rgb = np.zeros((SIZE_PX[1], SIZE_PX[0], 3), np.float32)
    cover = np.zeros((SIZE_PX[1], SIZE_PX[0]), np.float32)
    for shift in _PASSES:
        screen, depth = project(scene.points)
        hits = rasterise(screen + (0.5 - np.array(shift)), depth, scene.faces, SIZE_PX)
        one, is_cloth = _look(scene, hits, wall)
        rgb += one / len(_PASSES)
        cover += is_cloth / np.float32(len(_PASSES))
    return Shot(_developed(rgb, rng), cover, _landmarks(sewn, points))


def _scene(sewn: Sewn, draped_points: Floats) -> _Scene:
    """Put everything together; shadows and light are worked out on the coarser meshes and carried to the finer."""
    form, form_faces, form_kind = _form_mesh()
    mesh = surface.finer(sewn, draped_points)
    n, few = len(mesh.points), len(draped_points)
    cloth_normals, form_normals = surface.normals(mesh), _normals_of(form, form_faces)
    shade = np.concatenate([mesh.points[:few], form])
    shade_faces = np.concatenate([sewn.corner_vertex[sewn.faces], form_faces + few])
    outward = np.concatenate([cloth_normals[:few], form_normals])
    lit = light.gathered(shade, outward, shade, shade_faces, light.room(), mm_per_px=2.5)
    inner = light.gathered(shade[:few], -outward[:few], shade, shade_faces, light.room(16, 40), mm_per_px=5.0)
    gathered = np.concatenate([surface.carried(sewn, lit[:few]), lit[few:], surface.carried(sewn, inner)])
    return _Scene(
        points=np.concatenate([mesh.points, form]),
        normals=np.concatenate([cloth_normals, form_normals]),
        faces=np.concatenate([mesh.corner_vertex[mesh.faces], form_faces + n]),
        kind=np.concatenate([np.full(len(mesh.faces), _CLOTH), form_kind]),
        gathered=gathered.reshape(len(gathered), 27).astype(np.float32),
        mesh=mesh,
        shade=shade,
        shade_faces=shade_faces,
    )


def _form_mesh() -> tuple[Floats, Ints, Ints]:
    """Torso, the neck's wooden cap with a knob, and the pole."""
    rows: list[tuple[Floats, int]] = []
    ring = np.linspace(0, 2 * np.pi, 129)[:-1]
    circle = np.stack([np.cos(ring), np.sin(ring)], axis=1)

    def slice_of(y: float, wide: float, deep: float, middle: float, kind: int) -> None:
        p = np.stack([wide * circle[:, 0], np.full(len(ring), y), deep * circle[:, 1] + middle], axis=1)
        rows.append((p, kind))

    for height in np.r_[np.arange(-858, -90, 8.0), np.arange(-90, 58, 3.0), 58.0]:
        w, d, m = (float(v[0]) for v in dummy.slice_at(np.array([height])))
        slice_of(float(height), w, d, m, _FORM)
    for y, share in ((58.0, 1.0), (60.0, 1.045), (70.0, 1.045), (73.0, 1.0), (75.0, 0.9), (77.0, 0.5)):
        slice_of(y, 53.5 * share, 57.5 * share, -4, _POLE)
    for y, r in ((77.0, 9.0), (86.0, 8.0), (92.0, 12.0), (100.0, 16.0), (109.0, 16.0), (116.0, 11.0), (119.5, 0.2)):
        slice_of(y, r, r, -4, _POLE)
    split = len(rows)
    for height in np.arange(-1098.0, -857.0, 15.0):  # short pieces: a triangle is searched for in its whole box
        slice_of(float(height), 15, 15, -7, _POLE)
    slice_of(-858.0, 190, 126, -7, _FORM)  # the torso's closed foot
    n = len(ring)
    points = np.concatenate([p for p, _ in rows])
    faces: list[Ints] = []
    kinds: list[Ints] = []
    around = np.arange(n)
    for i in range(len(rows) - 1):
        if i + 1 == split:
            continue
        a, b = i * n + around, i * n + (around + 1) % n
        above, beside = a + n, b + n
        faces += [np.stack([a, above, b], axis=1), np.stack([b, above, beside], axis=1)]
        kinds.append(np.full(2 * n, rows[i + 1][1] if rows[i][1] == _FORM else rows[i][1]))
    return points, np.concatenate(faces), np.concatenate(kinds)


def _normals_of(points: Floats, faces: Ints) -> Floats:
    area = np.cross(points[faces[:, 1]] - points[faces[:, 0]], points[faces[:, 2]] - points[faces[:, 0]])
    found = np.zeros_like(points)
    for k in range(3):
        for axis in range(3):
            found[:, axis] += np.bincount(faces[:, k], area[:, axis], len(points))
    return np.asarray(found / np.maximum(np.linalg.norm(found, axis=1, keepdims=True), 1e-9))


def _wall(scene: _Scene, rng: np.random.Generator) -> NDArray[np.float32]:
    """The bare photo of the wall with the form's soft shadow, linear, shape (2000, 1500, 3)."""
    step = 8
    w, h = SIZE_PX[0] // step, SIZE_PX[1] // step
    x, y = np.meshgrid((np.arange(w) + 0.5) * step, (np.arange(h) + 0.5) * step)
    scale = _MM_PER_PX * (_AWAY_MM - _WALL_Z) / _AWAY_MM
    at = np.stack(
        [(x - SIZE_PX[0] / 2) * scale, _MIDDLE[1] - (y - SIZE_PX[1] / 2) * scale, np.full(x.shape, _WALL_Z)], axis=-1
    )
    flat = at.reshape(-1, 3)
    facing = np.tile([0.0, 0.0, 1.0], (len(flat), 1))
    lamps = light.room()
    front = lamps.toward[:, 2] > 0.02
    lamps = light.Lamps(lamps.toward[front], lamps.power[front])
    got = light.gathered(flat, facing, scene.shade, scene.shade_faces, lamps, mm_per_px=5.0)
    level = (got * light.basis(np.array([0.0, 0.0, 1.0]))[None, :, None]).sum(axis=1).reshape(h, w, 3)
    level = np.stack([blur(level[..., k].astype(np.float32), 1.2) for k in range(3)], axis=-1)
    level = cv2.resize(level, SIZE_PX, interpolation=cv2.INTER_CUBIC)
    toward = (0.5 - np.arange(SIZE_PX[0], dtype=np.float32) / SIZE_PX[0])[None, :]
    higher = (0.5 - np.arange(SIZE_PX[1], dtype=np.float32) / SIZE_PX[1])[:, None]
    fall = 1 + 0.30 * toward + 0.16 * higher - 0.25 * (toward + 0.1) ** 2
    shape = (SIZE_PX[1], SIZE_PX[0])
    plaster = 1 + 0.012 * noise(shape, 90, rng) + 0.007 * noise(shape, 14, rng) + 0.006 * noise(shape, 3, rng)
    colour = hex_to_linear(_WALL).astype(np.float32)
    return np.asarray(level * (fall * plaster)[..., None] * colour, dtype=np.float32)


def _look(scene: _Scene, hits: Hits, wall: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """One look through the lens: linear light, and where it is tunic."""
    rgb = wall.copy()
    seen = hits.face >= 0
    face = hits.face[seen]
    weights = hits.weights[seen].astype(np.float64)
    corner = scene.faces[face]
    normal = np.einsum("nk,nkj->nj", weights, scene.normals[corner])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    kind = scene.kind[face]
    cloth = kind == _CLOTH
    away = np.zeros(len(face), bool)
    albedo = np.empty((len(face), 3))
    at = np.einsum("nk,nkj->nj", weights, scene.points[corner])
    albedo[kind == _FORM] = hex_to_linear(_COVER) * _cover_tone(at[kind == _FORM])[:, None]
    albedo[kind == _POLE] = hex_to_linear(_WOOD) * _wood_tone(at[kind == _POLE])[:, None]
    tone, bent = _cloth(scene, face[cloth], weights[cloth], normal[cloth])
    inside = bent[:, 2] < -0.02
    bent[inside] *= -1
    normal[cloth] = bent
    albedo[cloth] = hex_to_linear(_CALICO) * np.where(inside, 0.86, 1.0)[:, None] * tone[:, None]
    away[cloth] = inside
    corner = np.where(away[:, None], corner + len(scene.points), corner)
    share = weights.astype(np.float32)
    light_here = share[:, :1] * scene.gathered[corner[:, 0]]
    for k in (1, 2):
        light_here += share[:, k : k + 1] * scene.gathered[corner[:, k]]
    level = np.einsum("ni,nij->nj", light.basis(normal).astype(np.float32), light_here.reshape(-1, 9, 3))
    level = np.clip(level, 0.012, None)
    rim = np.clip(1 - np.abs(normal[:, 2]), 0, 1) ** 3
    fuzz = np.where(cloth, 0.10, np.where(kind == _FORM, 0.22, 0.0)) * rim  # hair on the cloth catches light
    bounce = 0.10 * level.mean(axis=1, keepdims=True) * albedo
    rgb[seen] = (level * (albedo + fuzz[:, None] * albedo) + bounce).astype(np.float32)
    is_cloth = np.zeros(seen.shape, bool)
    is_cloth[seen] = cloth
    return rgb, is_cloth


def _cover_tone(at: Floats) -> Floats:
    """Tone of the form's linen cover: its threads, and the seam down the middle."""
    threads = surface.threads((1300, 900), random(41))
    tone = 1 + 1.6 * map_coordinates(threads, [(100 - at[:, 1]) / 1.0, (at[:, 0] + 450) / 1.0], order=1, mode="reflect")
    return np.asarray(tone - 0.34 * np.exp(-((at[:, 0] / 0.9) ** 2)))


def _wood_tone(at: Floats) -> Floats:
    """Tone of turned wood: grain that runs up and down."""
    rng = random(42)
    grain = cv2.GaussianBlur(rng.standard_normal((700, 160), dtype=np.float32), (0, 0), sigmaX=0.9, sigmaY=16)
    grain /= float(grain.std())
    found = map_coordinates(grain, [(150 - at[:, 1]) / 2.0, (at[:, 0] + 80.0)], order=1, mode="reflect")
    return np.asarray(1 + 0.10 * found)


def _cloth(scene: _Scene, face: NDArray[np.int32], weights: Floats, normal: Floats) -> tuple[Floats, Floats]:
    """Tone of the cloth, and its normal bent by the fine relief."""
    mesh = scene.mesh
    corners = mesh.faces[face]
    flat = np.einsum("nk,nkj->nj", weights, mesh.flat[corners])
    panel = mesh.panel[corners[:, 0]]
    p = mesh.points[mesh.corner_vertex[corners]]
    q = mesh.flat[corners]
    e1, e2 = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    d1, d2 = q[:, 1] - q[:, 0], q[:, 2] - q[:, 0]
    det = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
    det = np.where(np.abs(det) < 1e-9, 1e-9, det)[:, None]
    along_x = (e1 * d2[:, 1:] - e2 * d1[:, 1:]) / det
    along_y = (e2 * d1[:, :1] - e1 * d2[:, :1]) / det
    sx, sy, tone = np.zeros(len(face)), np.zeros(len(face)), np.ones(len(face))
    for k in range(4):
        here = panel == k
        if here.any():
            fine = surface.detail(k)
            at = surface.map_points(flat[here])
            for plane, into in ((fine.slope_x, sx), (fine.slope_y, sy), (fine.tone, tone)):
                into[here] = map_coordinates(plane, [at[:, 1] - 0.5, at[:, 0] - 0.5], order=1, mode="nearest")
    bent = normal - sx[:, None] * along_x - sy[:, None] * along_y
    bent /= np.maximum(np.linalg.norm(bent, axis=1, keepdims=True), 1e-9)
    return tone, bent


def _developed(rgb: NDArray[np.float32], rng: np.random.Generator) -> NDArray[np.uint8]:
    """Exposure, a slight vignette and glow, lens blur, sensor noise."""
    h, w = rgb.shape[:2]
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    radius = np.hypot(x - w / 2, y - h / 2) / (np.hypot(w, h) / 2)
    rgb = rgb * (1.45 * (1 - 0.22 * radius**2.4))[..., None]
    glow = np.stack([blur(np.ascontiguousarray(rgb[..., k]), 22) for k in range(3)], axis=-1)
    rgb = 0.965 * rgb + 0.035 * glow
    rgb = np.stack([blur(np.ascontiguousarray(rgb[..., k]), 0.55) for k in range(3)], axis=-1)
    grain = rng.standard_normal(rgb.shape, dtype=np.float32)
    grain = np.stack([blur(np.ascontiguousarray(grain[..., k]), 0.6) * 1.7 for k in range(3)], axis=-1)
    rgb = rgb + grain * np.sqrt(np.clip(rgb, 0, None) * 7e-5 + 1.5e-6)
    return linear_to_srgb8(np.clip(rgb, 0, 1))


def _landmarks(sewn: Sewn, points: Floats) -> dict[str, tuple[float, float]]:
    """Where the sewn corners are seen; left and right are the wearer's."""
    loops = sewn.loops
    vertices = {"neck-centre": loops["front:neck-left"][-1], "hem-centre": loops["front:hem-left"][0]}
    for side in ("left", "right"):
        vertices[f"neck-{side}"] = loops[f"front:neck-{side}"][0]
        vertices[f"shoulder-{side}"] = loops[f"front:shoulder-{side}"][0]
        vertices[f"underarm-{side}"] = loops[f"front:side-{side}"][-1]
        vertices[f"hem-{side}"] = loops[f"front:side-{side}"][0]
    screen, _ = project(points)
    return {name: (float(screen[v, 0]), float(screen[v, 1])) for name, v in vertices.items()}
