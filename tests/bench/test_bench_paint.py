"""Speed of painting, as ratios to plain library calls in the same run."""

import itertools
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from processor_time import best_of

sys.path.insert(0, str(Path(__file__).parent.parent / "garment"))

from rendered import rendered

from mockup.colourways.colourway import Laid
from mockup.colourways.paint import paint_drawing, recolour
from mockup.colourways.tiles import KeptTiles
from mockup.garment.drawing import view_from_drawing
from mockup.garment.shading import shading
from mockup.samples import choir
from mockup.stylelines.masks import panel_masks
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import garment_panels
from swatches.cloth import Cloth, plain
from swatches.photo import jpeg_bytes, read_photo

pytestmark = pytest.mark.bench


def printed():
    tile = np.random.default_rng(0).random((240, 200, 3)).astype(np.float32)
    return Cloth(plain("print", "print", "#808080"), tile, 0.2, np.full(3, 0.5, np.float32))


@pytest.mark.parametrize("megapixels", [1, 4, 12, 24])
@pytest.mark.parametrize("kind", ["solid", "print"])
def test_recolouring(benchmark, megapixels, kind):
    """Against one RGB → Lab → RGB float round trip of cv2.cvtColor. Reach: ≤ 2.5 at 12 MP."""
    scene = rendered(4, size=900)
    h = int(np.sqrt(megapixels * 1e6 * 3 / 4))
    size = (h * 4 // 3, h)
    photo, alpha = cv2.resize(scene.photo, size, interpolation=cv2.INTER_CUBIC), cv2.resize(scene.alpha, size)
    floats = photo.astype(np.float32) / 255
    trip = best_of(lambda: cv2.cvtColor(cv2.cvtColor(floats, cv2.COLOR_RGB2Lab), cv2.COLOR_Lab2RGB))
    cloth = printed() if kind == "print" else np.array([0.4, 0.05, 0.1])

    def work():
        return recolour(photo, alpha, cloth, mm_per_px=0.5)

    benchmark.pedantic(work, rounds=4, warmup_rounds=1)
    ratio = best_of(work) / trip
    benchmark.extra_info["ratio to Lab round trip"] = ratio
    assert ratio <= {1: 12, 4: 5, 12: 2.5, 24: 2.5}[megapixels]


def test_repainting_for_the_page(benchmark):
    """All panels of the choir's front at 1600 px with prints. Reach: ≤ 150 ms, here as a ratio: about three resizes
    of the picture with Lanczos take as long on any machine.
    """
    found = view_from_drawing(read_photo(choir.FRONT_PNG), name="front", side="front", picture="front.png")
    view = found.view
    panels = garment_panels([view], [line for line in choir.LINES if line.side == "front"])["front"]
    size = (1600, round(1600 * view.size[1] / view.size[0]))
    masks = panel_masks(view, panels, found.labels, size)
    cloths = {p.id: (printed(), Laid(grain_deg=10)) for p in panels}
    one = found.picture.astype(np.float32)
    plain_call = best_of(lambda: cv2.resize(one, size, interpolation=cv2.INTER_LANCZOS4))

    def work():
        return paint_drawing(view, found.ink, masks, cloths, size=size)

    benchmark.pedantic(work, rounds=5, warmup_rounds=1)
    ratio = best_of(work) / plain_call
    benchmark.extra_info["ratio to a Lanczos resize"] = ratio
    assert ratio <= 12


def test_repainting_after_a_moved_line(benchmark):
    """Masks, seams, painting and the file of the choir's front at 1600 px, when the yoke was moved by a few mm.

    Reach: ≤ 150 ms of processor time; as a ratio to a Lanczos resize of the picture, which takes about 30 ms.
    """
    found = view_from_drawing(read_photo(choir.FRONT_PNG), name="front", side="front", picture="front.png")
    view = found.view
    labels = found.labels.copy()
    labels.flags.writeable = False
    size = (1600, round(1600 * view.size[1] / view.size[0]))
    ink = cv2.resize(found.ink, size, interpolation=cv2.INTER_AREA)
    lines = [line for line in choir.LINES if line.side == "front"]
    cloth, kept, step = printed(), KeptTiles(240), itertools.count()
    one = found.picture.astype(np.float32)
    plain_call = best_of(lambda: cv2.resize(one, size, interpolation=cv2.INTER_LANCZOS4))
    panels = {}
    for k in range(40):
        end = replace(lines[0].end, distance_mm=lines[0].end.distance_mm + k)
        panels[k] = [replace(lines[0], end=end), *lines[1:]]
    cut = {k: garment_panels([view], moved)["front"] for k, moved in panels.items()}

    def work():
        k = next(step) % 40
        masks = panel_masks(view, cut[k], labels, size)
        seams = [view.path_to_px(path) for _, path in placed_lines(view, panels[k], [view])]
        cloths = {p.id: (cloth, Laid(mirrored=p.side == "right")) for p in cut[k]}
        return jpeg_bytes(paint_drawing(view, ink, masks, cloths, size=size, seams=seams, kept=kept), small=False)

    work()
    benchmark.pedantic(work, rounds=8, warmup_rounds=1)
    spent = best_of(work, 12)
    benchmark.extra_info["ms of processor time"] = 1000 * spent
    benchmark.extra_info["ratio to a Lanczos resize"] = spent / plain_call
    print("repaint ms", round(1000 * spent), "Lanczos ms", round(1000 * plain_call))  # noqa: T201
    assert spent / plain_call <= 5


@pytest.mark.parametrize("megapixels", [1, 12])
def test_light_on_a_printed_garment(benchmark, megapixels):
    """Read once when a photo is opened; against one RGB → Lab → RGB float round trip."""
    scene = rendered(4, size=900)
    h = int(np.sqrt(megapixels * 1e6 * 3 / 4))
    size = (h * 4 // 3, h)
    photo, alpha = cv2.resize(scene.photo, size, interpolation=cv2.INTER_CUBIC), cv2.resize(scene.alpha, size)
    floats = photo.astype(np.float32) / 255
    trip = best_of(lambda: cv2.cvtColor(cv2.cvtColor(floats, cv2.COLOR_RGB2Lab), cv2.COLOR_Lab2RGB))

    def work():
        return shading(photo, alpha, printed=True)

    benchmark.pedantic(work, rounds=1, warmup_rounds=1)
    ratio = best_of(work, 2) / trip
    benchmark.extra_info["ratio to Lab round trip"] = ratio
    print("printed light", megapixels, "MP, ratio", round(ratio, 1))  # noqa: T201
    assert ratio <= {1: 100, 12: 30}[megapixels]


MEMORY = """
import sys
sys.path.insert(0, {tests!r})
import cv2, numpy as np
from random_drawings import random_drawing
from mockup.garment.drawing import view_from_drawing
from mockup.colourways.paint import paint_drawing
from mockup.colourways.colourway import Laid
from swatches.cloth import Cloth, plain
cloth = Cloth(plain("a", "a", "#808080"), None, 1.0, np.full(3, 0.2, np.float32))
for side in ("front", "back"):
    picture = cv2.resize(random_drawing(8, kind="tee", side=side).picture, (4000, 3000))
    d = view_from_drawing(picture, name=side, side=side, picture="x")
    class Lazy(dict):
        def __getitem__(self, key):
            return (d.labels == d.view.area(key).label).astype(np.uint8) * np.uint8(255)
    masks = Lazy({{a.id: None for a in d.view.areas}})
    paint_drawing(d.view, d.ink, masks, {{a.id: (cloth, Laid()) for a in d.view.areas}})
    del d, masks, picture
print(next(l.split()[1] for l in open('/proc/self/status') if l.startswith('VmHWM')))
"""


def test_peak_memory_of_reading_and_painting(benchmark):
    """Reach: 12 MP, front and back, ≤ 1 GB for the whole process, libraries included (Linux says how much it was)."""
    if not Path("/proc/self/status").exists():
        pytest.skip("only Linux tells a process's peak memory here")

    def run():
        code = MEMORY.format(tests=str(Path(__file__).parent.parent / "garment"))
        return int(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)

    kilobytes = benchmark.pedantic(run, rounds=1)
    benchmark.extra_info["peak MB"] = kilobytes / 1000
    assert kilobytes < 1_000_000
