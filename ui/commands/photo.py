"""``mockup photo``: a photo of the garment becomes a view of it, on which cloth is painted with its folds."""

from __future__ import annotations

import contextlib
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from ui.commands.garment import points_of
from ui.commands.kinds import FILE, PROJECT, numbers
from ui.commands.terminal import absolute, say, terminal_job, with_json

_NAMES = {"front": "photo", "back": "photo-back"}


@click.command("photo")
@click.argument("project", type=PROJECT)
@click.argument("photo_file", type=FILE, metavar="PHOTO")
@click.option(
    "--side", type=click.Choice(("front", "back")), default="front", show_default=True, help="The side that it shows."
)
@click.option("--mask", "mask_file", type=FILE, help="White where the garment is, as mockup mask writes it.")
@click.option("--around", type=FILE, help="JSON list of points [x, y] round the garment, px.")
@click.option("--box", metavar="X,Y,W,H", help="Box round the garment, px.")
@click.option("--keep", type=FILE, help="JSON list of points that belong to the garment.")
@click.option("--drop", type=FILE, help="JSON list of points that do not.")
@click.option(
    "--point",
    "points",
    multiple=True,
    metavar="NAME=X,Y",
    help="A point of the garment that you know, px, such as underarm-left=930,720. May be given more than once.",
)
@with_json
def photo(
    project: Path, photo_file: Path, side: str, mask_file: Path | None, around: Path | None, box: str | None,
    keep: Path | None, drop: Path | None, points: tuple[str, ...], as_json: bool,
) -> None:  # fmt: skip
    """Add a PHOTO of the garment to PROJECT, cut out of its ground; another photo of that side is replaced.

    Lines and cloth of its side go onto it too: paint PROJECT --view photo (of the back: photo-back). Points and areas
    that were put right on a photo of the same size stay. Shoulders and underarms part sleeves from the body.
    """
    from mockup import journey
    from mockup.files import project_file
    from mockup.garment.mask import cut_out
    from mockup.garment.mask_file import read_mask
    from swatches.errors import InputError
    from swatches.photo import read_photo

    given = [w for w, v in (("--mask", mask_file), ("--around", around), ("--box", box)) if v is not None]
    if len(given) != 1:
        raise InputError(
            "garment", expected="one of --mask, --around or --box", got=" and ".join(given) or "none",
            next_step="Give one, such as --box 80,40,400,600",
        )  # fmt: skip
    if not project.is_dir():
        raise InputError("PROJECT", expected="a project folder", got=project.name, next_step="Unpack the project first")
    outline = None if around is None else points_of(around, "--around")
    corners = None if box is None else numbers(box, 4, what="--box")
    dabs: dict[str, Any] = {
        word: [] if file is None else [points_of(file, f"--{word}")] for word, file in (("keep", keep), ("drop", drop))
    }
    known = dict(_point(text) for text in points)
    loaded = project_file.load(project)
    name = _NAMES[side]
    warnings: list[str] = []
    with terminal_job() as job, _as_it_was(project / "pictures", name):
        read = read_photo(photo_file, what="photo")
        warnings += read.notes
        if mask_file is None:
            mask = cut_out(read, around=outline, box=corners, **dabs, job=job)
        else:
            mask = read_mask(mask_file, read)
            if dabs["keep"] or dabs["drop"]:
                mask = cut_out(read, earlier=mask, **dabs, job=job)
        warnings += mask.warnings
        loaded = journey.put_mask(
            project, loaded, read, mask, landmarks=known, side=side, name=name, warnings=warnings
        )  # fmt: skip
        journey.panels_of(loaded)  # lines that no longer fit are refused before anything is written
        loaded = project_file.save(loaded, project)
    view = journey.find(loaded, "view", name)
    drawn = next((v for v in loaded.views if v.side == side and v.kind == "drawing"), None)
    if drawn is not None and "sleeve" in {a.part for a in drawn.areas} - {a.part for a in view.areas}:
        warnings.append(
            "The drawing has sleeves, and in the photo they are not told from the body: give neck, shoulder, underarm "
            "and hem with --point, each on the left and on the right."
        )
    share = float(mask.alpha.mean())
    answer = {
        "project": absolute(project),
        "view": name,
        "side": side,
        "share": share,
        "areas": [a.id for a in view.found_areas],
        "landmarks": {n: [round(x, 3), round(y, 3)] for n, (x, y) in sorted(view.landmarks.items())},
        "mm_per_px": view.mm_per_px,
        "scale_measured": view.scale_measured,
        "warnings": list(dict.fromkeys(warnings)),
        "revision": loaded.revision,
        "files": [absolute(project / "pictures" / n) for n in (view.picture, f"{name}-mask.png")],
    }
    found = f"{name}: {100 * share:.1f} % of it is garment, {len(view.landmarks)} points found"
    say(as_json, answer, "\n".join([found, *answer["warnings"]]))


def _point(text: str) -> tuple[str, tuple[float, float]]:
    from mockup.garment.landmarks import ORDER
    from swatches.errors import InputError

    name, equals, at = text.partition("=")
    base, _, side = name.strip().rpartition("-")
    if not equals or base not in ORDER or side not in ("left", "right", "centre"):
        raise InputError(
            "--point",
            expected=f"one of {', '.join(ORDER)} with -left, -right or -centre, and its place",
            got=repr(text),
            next_step="Write it like underarm-left=930,720",
        )
    x, y = numbers(at, 2, what="--point")
    return name.strip(), (x, y)


@contextlib.contextmanager
def _as_it_was(pictures: Path, name: str) -> Iterator[None]:
    """Put the pictures of a view back as they were where something fails on the way."""
    files = [pictures / n for n in (f"{name}.png", f"{name}-labels.png", f"{name}-mask.png", f"{name}-cut.npz")]
    with tempfile.TemporaryDirectory() as kept:
        for file in files:
            if file.exists():
                shutil.copy2(file, Path(kept) / file.name)
        try:
            yield
        except BaseException:
            for file in files:
                if (Path(kept) / file.name).exists():
                    shutil.copy2(Path(kept) / file.name, file)
                else:
                    file.unlink(missing_ok=True)
            raise
