"""``mockup area`` and ``mockup landmark``: putting right what was found in a picture of the garment."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import PROJECT, numbers
from ui.commands.lines import with_cloth_kept
from ui.commands.terminal import absolute, say, terminal_job, with_json

VIEW = click.option("--on", "view", default="front", show_default=True, help="The picture: front, back or photo.")


@click.group("area")
def area() -> None:
    """Join, divide and name the areas found in a picture of the garment.

    A body that is drawn in several areas, such as bodice and skirt, counts as one: lengths and lines run over all of
    it, and the seams in it are there already. What is done here is done again when the picture is read again.
    """


@area.command("list")
@click.argument("project", type=PROJECT)
@click.option("--on", "view", help="Only this picture: front, back or photo.")
@with_json
def list_areas(project: Path, view: str | None, as_json: bool) -> None:
    """List the areas of PROJECT's pictures, and how its drawings were read."""
    from mockup import journey
    from mockup.files import project_file

    loaded = project_file.load(project)
    views = loaded.views if view is None else (journey.find(loaded, "view", view),)
    answer = {"views": [_row(v) for v in views]}
    say(as_json, answer, "\n".join(_text(row) for row in answer["views"]))


@area.command("join")
@click.argument("project", type=PROJECT)
@click.argument("areas", nargs=-1, required=True, metavar="AREA AREA …")
@VIEW
@with_json
def join_two(project: Path, areas: tuple[str, ...], view: str, as_json: bool) -> None:
    """Join areas that touch; the seam between sections of a body goes away."""
    from mockup import journey

    def work(loaded: Any, warnings: list[str]) -> Any:
        return journey.join_areas(project, loaded, view, areas, warnings=warnings)

    _changed(project, view, work, as_json)


@area.command("split")
@click.argument("project", type=PROJECT)
@click.option("--stroke", required=True, metavar="'X,Y X,Y …'", help="Points of a stroke from rim to rim, px.")
@VIEW
@with_json
def split(project: Path, stroke: str, view: str, as_json: bool) -> None:
    """Divide the area under a stroke."""
    from mockup import journey
    from mockup.garment.view import AreaEdit
    from swatches.errors import InputError

    points = tuple(_point(text, "--stroke") for text in stroke.split())
    if not 2 <= len(points) <= 10_000:
        raise InputError(
            "--stroke",
            expected="at least two points",
            got=stroke or "nothing",
            next_step="Write it like '120,300 480,300'",
        )

    def work(loaded: Any, warnings: list[str]) -> Any:
        return journey.edit_areas(project, loaded, view, AreaEdit("split", points), warnings=warnings)

    _changed(project, view, work, as_json)


@area.command("name")
@click.argument("project", type=PROJECT)
@click.argument("area_id", metavar="AREA")
@click.argument("name")
@click.option("--part", help="What it is: sleeve, collar, yoke, skirt, … With 'area' it is no part of the body.")
@VIEW
@with_json
def name_it(project: Path, area_id: str, name: str, part: str | None, view: str, as_json: bool) -> None:
    """Name an area, and say which part of the garment it is."""
    from mockup import journey
    from mockup.garment.area_record import place_in
    from mockup.garment.view import AreaEdit

    def work(loaded: Any, warnings: list[str]) -> Any:
        place = place_in(journey.find(loaded, "view", view), area_id)
        edit = AreaEdit("name", (place,), name, part or "")
        return journey.edit_areas(project, loaded, view, edit, warnings=warnings)

    _changed(project, view, work, as_json)


@area.command("seam")
@click.argument("project", type=PROJECT)
@click.option("--at", required=True, metavar="X,Y", help="A place on the stitching, px.")
@VIEW
@with_json
def seam(project: Path, at: str, view: str, as_json: bool) -> None:
    """Say that dashed stitching is a seam: it parts the area that it runs across."""
    from mockup import journey
    from mockup.garment.view import AreaEdit

    edit = AreaEdit("seam", (_point(at, "--at"),))

    def work(loaded: Any, warnings: list[str]) -> Any:
        return journey.edit_areas(project, loaded, view, edit, warnings=warnings)

    _changed(project, view, work, as_json)


@area.command("read")
@click.argument("project", type=PROJECT)
@click.option("--gap", type=click.FloatRange(0.5, 500), help="Widest gap in a line that is closed, px; else by width.")
@click.option("--line-width", type=click.FloatRange(0.5, 200), help="Width of the drawn lines, px; else estimated.")
@click.option("--stitching-is-seam", is_flag=True, help="All dashed lines part areas.")
@click.option("--darts-are-areas", is_flag=True, help="Small wedges and spindles are areas, and no darts.")
@VIEW
@with_json
def read(
    project: Path, gap: float | None, line_width: float | None, stitching_is_seam: bool, darts_are_areas: bool,
    view: str, as_json: bool,
) -> None:  # fmt: skip
    """Read a drawing again; areas joined, divided and named, and points moved, stay so."""
    from mockup import journey

    def work(loaded: Any, warnings: list[str]) -> Any:
        with terminal_job() as job:
            return journey.read_again(
                project, loaded, view, gap_px=gap, line_px=line_width, stitching_is_seam=stitching_is_seam,
                darts_are_areas=darts_are_areas, warnings=warnings, job=job,
            )  # fmt: skip

    _changed(project, view, work, as_json)


@click.group("landmark")
def landmark() -> None:
    """List and move the points that edges run between: neck, shoulder, underarm, hem."""


@landmark.command("list")
@click.argument("project", type=PROJECT)
@VIEW
@with_json
def list_points(project: Path, view: str, as_json: bool) -> None:
    """List the points of one picture of PROJECT, px."""
    from mockup import journey
    from mockup.files import project_file

    row = _points(journey.find(project_file.load(project), "view", view))
    say(as_json, row, "\n".join(f"{name:16} {x:9.1f} {y:9.1f}" for name, (x, y) in row["landmarks"].items()))


@landmark.command("move")
@click.argument("project", type=PROJECT)
@click.argument("name")
@click.option("--to", required=True, metavar="X,Y", help="Where it is, px; it comes onto the outline there.")
@VIEW
@with_json
def move(project: Path, name: str, to: str, view: str, as_json: bool) -> None:
    """Move the point NAME along the outline; a middle moves the middle of the garment."""
    from mockup import journey
    from mockup.files import project_file

    before = project_file.load(project)
    loaded = journey.move_point(before, view, name, _point(to, "--to"))
    journey.panels_of(loaded)  # lines that no longer fit are refused before anything is written
    loaded = project_file.save(with_cloth_kept(before, loaded), project)
    row = _points(journey.find(loaded, "view", view)) | {"revision": loaded.revision}
    x, y = row["landmarks"][name]
    say(as_json, row, f"{name} is at {x:.1f},{y:.1f}")


def _changed(project: Path, view: str, work: Any, as_json: bool) -> None:
    """Change areas, keep of lines and cloth what has a place, save, and answer with what has none."""
    import shutil
    import tempfile

    from mockup import journey
    from mockup.files import project_file
    from swatches.errors import InputError

    if not project.is_dir():
        raise InputError("PROJECT", expected="a project folder", got=str(project), next_step="Unpack the project first")
    loaded = project_file.load(project)
    names = {v.name: (v.labels, f"{v.name}-ink.png") for v in loaded.views}.get(view, ())
    warnings: list[str] = []
    with tempfile.TemporaryDirectory() as kept:
        before = [project / "pictures" / n for n in names]
        for file in before:
            if file.exists():
                shutil.copy2(file, Path(kept) / file.name)
        try:
            stayed = journey.stay(loaded, work(loaded, warnings))
            warnings.extend(stayed.said)
            loaded = project_file.save(stayed.project, project)
        except BaseException:
            for file in before:
                if (Path(kept) / file.name).exists():
                    shutil.copy2(Path(kept) / file.name, file)
            raise
    row = _row(journey.find(loaded, "view", view))
    answer = {"project": absolute(project), **row, "warnings": warnings, "revision": loaded.revision}
    say(as_json, answer, "\n".join([_text(row), *warnings]))


def _row(view: Any) -> dict[str, Any]:
    reading = view.reading
    return {
        "view": view.name,
        "areas": [
            {
                "id": a.id,
                "name": a.name,
                "part": a.part,
                "side": a.side,
                "of_body": a in view.sections or a is view.body,
            }
            for a in view.found_areas
        ],
        "seams": [{"id": s.id, "side": s.side} for s in view.seams],
        "line_width_px": None if reading is None else reading.line_width_px,
        "gap_px": None if reading is None else reading.gap_px,
        "stitching_is_seam": bool(reading and reading.stitching_is_seam),
        "edits": len(view.edits),
    }


def _text(row: dict[str, Any]) -> str:
    lines = [f"{row['view']}:"]
    lines += [f"  {a['id']:20} {a['name']}{' (body)' if a['of_body'] else ''}" for a in row["areas"]]
    if row["gap_px"] is not None:
        lines.append(f"  lines {row['line_width_px']:.1f} px wide, gaps up to {row['gap_px']:.0f} px closed")
    return "\n".join(lines)


def _points(view: Any) -> dict[str, Any]:
    return {
        "view": view.name,
        "landmarks": {n: [round(x, 3), round(y, 3)] for n, (x, y) in sorted(view.landmarks.items())},
        "placed": list(view.placed),
    }


def _point(text: str, what: str) -> tuple[float, float]:
    x, y = numbers(text, 2, what=what)
    return x, y
