"""``mockup new``, ``regions``, ``mask``, ``recolour``: from pictures to a garment."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import FILE, OUT_FILE, OUT_FOLDER, numbers
from ui.commands.print_options import light_options
from ui.commands.terminal import absolute, say, terminal_job, whole_folder, with_json

LIKE_A_PHOTO = (
    "This looks like a photo: its light and shade are read as lines. Cut the garment out of a photo with 'mockup mask'."
)
"""What is said where a photo is read as a line drawing."""


@click.command("new")
@click.argument("project", type=OUT_FOLDER)
@click.option("--front", type=FILE, required=True, help="Drawing of the front: PNG, JPEG or SVG.")
@click.option("--back", type=FILE, help="Drawing of the back.")
@click.option(
    "--measure", "measures", multiple=True, metavar="VIEW:EDGE=LENGTH",
    help="A known length, such as front:centre-front=680mm. May be given more than once.",
)  # fmt: skip
@click.option("--pieces", type=FILE, help="Pattern pieces as SVG with named edges.")
@click.option("--drawing", is_flag=True, help="They are drawings, also where one looks like a photo.")
@click.option("--name", default="", help="What you call the garment.")
@click.option("--date", default="", help="Date for prints, such as 2026-11-24; without it, today's.")
@with_json
def new(
    project: Path, front: Path, back: Path | None, measures: tuple[str, ...], pieces: Path | None, drawing: bool,
    name: str, date: str, as_json: bool,
) -> None:  # fmt: skip
    """Make the folder PROJECT from drawings of a garment.

    Edges that can be measured: centre-front, centre-back, side-left, side-right, armhole-left, shoulder-left, neck,
    hem.
    """
    from mockup import journey
    from mockup.files import project_file
    from swatches.errors import ProjectError
    from swatches.words import counted

    known = [_measure(text) for text in measures]
    warnings: list[str] = []
    if (project / project_file.PROJECT_FILE).exists():
        raise ProjectError(
            str(project), expected="a folder without a project", got="one that has one", next_step="Name another folder"
        )
    if not drawing:
        _no_photos({"--front": front, "--back": back})
    with terminal_job() as job, whole_folder(project) as folder:
        made = journey.new_project(
            folder,
            front,
            back,
            measures=known,
            name=name or project.name,
            date=date or today(),
            warnings=warnings,
            job=job,
        )
        if pieces is not None:
            made, _ = journey.put_pieces(folder, made, pieces)
        made = project_file.save(made, folder)
    views = [
        {
            "name": view.name,
            "areas": [{"id": a.id, "name": a.name, "part": a.part, "side": a.side} for a in view.areas],
            "edges": [edge.name for edge in view.edges],
            "landmarks": sorted(view.landmarks),
            "mm_per_px": view.mm_per_px,
            "scale_measured": view.scale_measured,
        }
        for view in made.views
    ]
    answer = {
        "project": absolute(project),
        "name": made.name,
        "revision": made.revision,
        "views": views,
        "warnings": warnings,
    }
    found = ", ".join(f"{view.name}: {counted(len(view.found_areas), 'area')}" for view in made.views)
    say(as_json, answer, "\n".join([f"{project}: {found}", *warnings]))


@click.command("regions")
@click.argument("picture", type=FILE)
@click.option(
    "--gap", type=click.FloatRange(0.5, 500), help="Widest gap in a line that is closed, px; else by line width."
)
@click.option("--line-width", type=click.FloatRange(0.5, 200), help="Width of the drawn lines, px; else estimated.")
@click.option("--stitching-is-seam", is_flag=True, help="Dashed lines part areas.")
@click.option("--out", type=OUT_FOLDER, required=True, help="Folder for labels.png, regions.json and preview.png.")
@with_json
def regions(
    picture: Path, gap: float | None, line_width: float | None, stitching_is_seam: bool, out: Path, as_json: bool
) -> None:
    """Find the closed areas of a line drawing, also where its lines have gaps."""
    import numpy as np

    from mockup import journey
    from swatches.errors import PictureError
    from swatches.photo import write_png
    from swatches.words import counted
    from ui.commands.preview import preview_of

    with terminal_job() as job, whole_folder(out) as folder:
        try:
            found = journey.regions_of(
                picture, gap_px=gap, line_px=line_width, stitching_is_seam=stitching_is_seam, job=job
            )
        except PictureError as error:
            if "no closed area" in str(error) and journey.looks_like_photo(picture):
                raise PictureError(
                    picture.name, expected="a line drawing", got="what looks like a photo",
                    next_step="Cut the garment out of a photo with 'mockup mask'",
                ) from error  # fmt: skip
            raise
        warnings = [*([LIKE_A_PHOTO] if journey.looks_like_photo(picture) else []), *found.warnings]
        count = len(np.unique(found.labels[found.labels > 0]))
        write_png(folder / "labels.png", found.labels)
        write_png(folder / "preview.png", preview_of(found.labels, found.ink))
        answer: dict[str, Any] = {
            "regions": count,
            "labels": absolute(out / "labels.png"),
            "line_width_px": float(found.line_width_px),
            "gap_px": float(found.gap_px),
            "warnings": warnings,
        }
        areas = [
            {"label": int(label), "area_px": int(size)}
            for label, size in zip(*np.unique(found.labels[found.labels > 0], return_counts=True), strict=True)
        ]
        record = {**answer, "labels": "labels.png", "areas": areas}
        (folder / "regions.json").write_text(json.dumps(record, indent=2) + "\n", encoding="utf-8")
    answer["files"] = [absolute(out / name) for name in ("labels.png", "regions.json", "preview.png")]
    say(as_json, answer, "\n".join([f"{counted(count, 'area')}; see {out / 'preview.png'}", *warnings]))


@click.command("mask")
@click.argument("photo", type=FILE)
@click.option("--around", type=FILE, help="JSON list of points [x, y] round the garment, px.")
@click.option("--box", metavar="X,Y,W,H", help="Box round the garment, px.")
@click.option(
    "--along", type=FILE, help="JSON list of points on the garment's edge; the edge between them is followed."
)
@click.option("--suggest", is_flag=True, help="Nothing is drawn: suggest an outline, to be looked at.")
@click.option("--keep", type=FILE, help="JSON list of points that belong to the garment.")
@click.option("--drop", type=FILE, help="JSON list of points that do not.")
@click.option("--out", type=OUT_FILE, required=True, help="The mask: white where the garment is.")
@with_json
def mask(
    photo: Path, around: Path | None, box: str | None, along: Path | None, suggest: bool, keep: Path | None,
    drop: Path | None, out: Path, as_json: bool,
) -> None:  # fmt: skip
    """Cut a garment out of its photo, from a loose outline, a box or its edge, and points that correct it."""
    import numpy as np

    from mockup.garment.follow_edge import follow_edge
    from mockup.garment.mask import cut_out
    from swatches.errors import InputError
    from swatches.photo import read_photo, write_png

    given = [w for w, v in (("--around", around), ("--box", box), ("--along", along), ("--suggest", suggest)) if v]
    if len(given) != 1:
        raise InputError(
            "garment", expected="one of --around, --box, --along or --suggest", got=" and ".join(given) or "none",
            next_step="Give one, such as --box 80,40,400,600",
        )  # fmt: skip
    outline = None if around is None else points_of(around, "--around")
    corners = None if box is None else numbers(box, 4, what="--box")
    edge = None if along is None else points_of(along, "--along")
    with terminal_job() as job:
        read = read_photo(photo)
        found = cut_out(
            read,
            around=outline,
            box=corners,
            edge=None if edge is None else follow_edge(read, edge, job=job),
            keep=() if keep is None else points_of(keep, "--keep"),
            drop=() if drop is None else points_of(drop, "--drop"),
            job=job,
        )
        write_png(out, np.asarray(np.round(found.alpha * 255), np.uint8))
    share = float(found.alpha.mean())
    warnings = [*read.notes, *found.warnings]
    say(
        as_json,
        {
            "mask": absolute(out),
            "share": share,
            "suggestion": found.suggestion,
            "warnings": warnings,
            "files": [absolute(out)],
        },
        "\n".join([f"{out}: {100 * share:.1f} % is garment", *warnings]),
    )


@click.command("recolour")
@click.argument("photo", type=FILE)
@click.option(
    "--mask", "mask_file", type=FILE, required=True, help="White where the garment is, as mockup mask writes it."
)
@click.option("--fabric", required=True, metavar="'#rrggbb'|FABRIC.json", help="A colour, or a fabric with its tile.")
@click.option(
    "--mm-per-px",
    type=click.FloatRange(1e-4, 1e3),
    default=0.5,
    show_default=True,
    help="Scale of the photo, for prints at true size.",
)
@light_options
@click.option("--out", type=OUT_FILE, required=True, help="The picture.")
@with_json
def recolour(
    photo: Path, mask_file: Path, fabric: str, mm_per_px: float, flare: float | None, printed: bool | None, out: Path,
    as_json: bool,
) -> None:  # fmt: skip
    """Give the garment in PHOTO another cloth; light and folds stay."""
    from mockup.colourways.paint import recolour as paint
    from mockup.garment.mask_file import read_share
    from mockup.garment.shading import FLARE, shading
    from swatches.photo import read_photo, write_png

    cloth = cloth_from(fabric)
    read = read_photo(photo)
    alpha = read_share(mask_file, read)
    light = shading(read, alpha, flare=FLARE if flare is None else flare, printed=printed)
    write_png(out, paint(read, alpha, cloth, mm_per_px=mm_per_px, light_on=light))
    warnings = [*read.notes, *light.warnings]
    answer = {"picture": absolute(out), "fabric": cloth.fabric.name, "warnings": warnings, "files": [absolute(out)]}
    say(as_json, answer, "\n".join([f"{out}: {cloth.fabric.name}", *warnings]))


def cloth_from(text: str) -> Any:
    """Give the cloth of '#rrggbb' or of a fabric.json."""
    from mockup import journey
    from swatches.cloth import load_cloth
    from swatches.errors import InputError
    from swatches.fabric_file import read_fabric

    if text.startswith("#"):
        return load_cloth(journey.plain_fabric(text), Path())
    path = Path(text)
    if not path.exists():
        raise InputError(
            "--fabric", expected="'#rrggbb' or a fabric.json", got=text, next_step="Type a colour like '#7c2f3b'"
        )
    fabric = read_fabric(path)
    return load_cloth(fabric, path if path.is_dir() else path.parent)


def today() -> str:
    """Today's date, or that of ``SOURCE_DATE_EPOCH`` where it is set, so that a build can be repeated."""
    import datetime
    import os

    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdigit():
        return datetime.datetime.fromtimestamp(int(epoch), tz=datetime.UTC).date().isoformat()
    return datetime.date.today().isoformat()


def _no_photos(pictures: dict[str, Path | None]) -> None:
    """Refuse a photo where a drawing is asked for: read as lines, its light and shade would become areas."""
    from mockup import journey
    from swatches.errors import InputError

    for word, picture in pictures.items():
        if picture is not None and journey.looks_like_photo(picture, what=f"{word[2:]} drawing"):
            raise InputError(
                word, expected="a line drawing of the garment", got=f"what looks like a photo, {picture.name}",
                next_step="Give a line drawing here and add the photo with 'mockup photo'; "
                "if it is a drawing all the same, add --drawing",
            )  # fmt: skip


def _measure(text: str) -> tuple[str, str, Any]:
    from swatches.errors import InputError
    from swatches.units import length

    place, equals, value = text.partition("=")
    view, colon, edge = place.partition(":")
    if not (equals and colon and view and edge):
        raise InputError(
            "--measure", expected="VIEW:EDGE=LENGTH", got=text, next_step="Type it like front:centre-front=680mm"
        )
    return view.strip(), edge.strip(), length(value, what=f"--measure {place}", minimum_mm=1.0)


def points_of(path: Path, what: str) -> list[tuple[float, float]]:
    """Read a JSON list of points, px; what is wrong with it is one line that names ``what``."""
    import math

    from swatches.errors import FileFormatError

    try:
        found = json.loads(path.read_bytes()[:4_000_000])
        points = [(float(x), float(y)) for x, y in found]
    except (ValueError, TypeError, RecursionError):
        points = []
    if not points or len(points) > 10_000 or not all(math.isfinite(c) for p in points for c in p):
        raise FileFormatError(
            what,
            expected="a JSON list of points in px",
            got=path.name,
            next_step="Write it like [[120, 80], [400, 90]]",
        )
    return points
