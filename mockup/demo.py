"""The whole walk on the built-in example, from drawings and swatch photos to printed pieces."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from mockup import journey
from mockup.files import project_file
from mockup.files.words import how_to_cut, title
from mockup.lay.need import Need
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.samples import choir
from swatches.job import QUIET, Job, Part
from swatches.photo import write_png

LETTER = "A"
"""The choice that is cut."""


def demo(out: Path, job: Job = QUIET) -> dict[str, Any]:
    """Run the walk and write what comes of it.

    Args:
        out: folder to write into; made if missing. The person's own cloth is never touched: the project lives in a
            temporary folder.
        job: progress and cancellation.

    Returns:
        The answer of ``mockup demo --json``: files, panels, pieces, the proof's figures, how much of each fabric.
    """
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="mockup-demo-") as name:
        folder = Path(name)
        project = journey.open_choir(folder, job=Part(job, 0.0, 0.45))
        project = project_file.save(project, folder)
        return _walk(project, folder, out, Part(job, 0.45, 1.0))


def _walk(project: Project, folder: Path, out: Path, job: Job) -> dict[str, Any]:
    files: list[Path] = []
    sheet = journey.compare(project, folder, note=choir.EXPLAIN, job=Part(job, 0.0, 0.35))
    files.append(write_png(out / "sheet.png", sheet))
    for k, view in enumerate(("front", "back", "photo")):
        part = Part(job, 0.35 + 0.05 * k, 0.4 + 0.05 * k)
        part.step(f"Painting the {view}", 0.0)
        files.append(write_png(out / f"{view}.png", journey.paint_view(project, folder, LETTER, view, job=part)))
    published = journey.publish(project, folder, LETTER, out, note=choir.EXPLAIN, job=Part(job, 0.5, 1.0))
    files += published.files
    proof = published.cut.proof
    panels = {p.id: p for members in journey.panels_of(project).values() for p in members}
    names = journey.fabric_names(project)
    summary = out / "summary.md"
    summary.write_text(_summary(project, published.cut.pieces, published.needs, proof.sentence, files, out), "utf-8")
    files.append(summary)
    job.step("Done", 1.0)
    return {
        "out": str(out),
        "files": [str(path) for path in files],
        "views": [view.name for view in project.views],
        "lines": len(project.lines),
        "panels": len(panels),
        "choices": [choice.letter for choice in project.colourways],
        "pieces": [{"number": p.number, "name": p.name, "fabric": p.fabric} for p in published.cut.pieces],
        "proof": {
            "ok": proof.ok,
            "sentence": proof.sentence,
            "area_error_mm2": proof.area_error_mm2,
            "stitch_difference_mm": proof.stitch_difference_mm,
            "rejoin_error_mm": proof.rejoin_error_mm,
        },
        "needs": [
            {
                "fabric": names.get(need.fabric, need.fabric),
                "width_mm": need.width_mm,
                "length_mm": need.length_mm,
                "buy_mm": need.buy_mm,
            }
            for need in published.needs
        ],
        "warnings": list(published.cut.warnings),
    }


def _summary(
    project: Project, pieces: Sequence[Piece], needs: Sequence[Need], proof: str, files: Sequence[Path], out: Path
) -> str:
    names = journey.fabric_names(project)
    choice = project.colourway(LETTER)
    lines = [f"# {project.name}", "", choir.EXPLAIN, ""]
    lines += ["## The lines", ""]
    for line in project.lines:
        ends = " to ".join(
            f"the {end.edge.replace('-', ' ')}, {end.text or f'{end.distance_mm:g} mm'} from the {end.landmark}"
            for end in (line.start, line.end)
        )
        mirrored = ", both halves alike" if line.symmetric else ""
        lines.append(f"- **{line.name}**, {line.side}: from {ends}{mirrored}")
    lines += ["", f"## The pieces of choice {choice.letter}, {choice.name}", ""]
    lines += ["| number | piece | cloth | how to cut |", "|---|---|---|---|"]
    for piece in pieces:
        lines.append(f"| {piece.number} | {title(piece)} | {names.get(piece.fabric, '')} | {how_to_cut(piece)} |")
    lines += ["", "## The proof", "", proof, ""]
    lines += ["## How much cloth", "", "| cloth | usable width | length of the lay | to have |", "|---|---|---|---|"]
    for need in needs:
        guess = "" if need.width_known else " (not measured)"
        cloth = names.get(need.fabric, need.fabric)
        lines.append(
            f"| {cloth} | {need.width_mm / 10:g} cm{guess} | {need.length_mm / 10:.1f} cm | {need.buy_mm / 10:g} cm |"
        )
    lines += ["", "All cloth in a single layer, pieces on their grain and 2 mm apart; rounded up to 10 cm, shrinkage"]
    lines += ["allowed for where it is known.", "", "## The files", ""]
    lines += [f"- `{path.relative_to(out).as_posix()}`" for path in files]
    return "\n".join(lines) + "\n"
