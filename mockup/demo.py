"""The whole walk on the built-in example, from drawings and swatch photos to printed pieces."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from mockup import journey
from mockup.files import project_file
from mockup.pattern.construction import construction
from mockup.project import Project
from mockup.samples import choir
from mockup.sheets.summary import summary_text
from swatches.job import QUIET, Job, Part
from swatches.photo import write_png

LETTER = "A"
"""The choice that is cut."""
_FILES = {
    "sheet.png": "all choices side by side",
    "front.png": "the front, painted",
    "back.png": "the back, painted",
    "photo.png": "the photo, painted",
    "proof.json": "the proof, figure by figure",
    "split.json": "the lines, as a file",
    "pieces.dxf": "all pieces for cutters and pattern programs",
    "cutting-list.csv": "the cutting list, interfacing too",
    "pieces-a4.pdf": "the pieces at full size, to print",
    "handout.pdf": "how others make the same lines on their own copy of the pattern",
}


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
    choice = project.colourway(LETTER)
    text = summary_text(
        heading=project.name,
        date=project.date,
        note=choir.EXPLAIN,
        choice=f"{choice.letter}, {choice.name}",
        lines=_line_words(project),
        pieces=published.cut.pieces,
        order=[step.what for step in construction(published.cut.pieces, journey.lightness(project))],
        needs=published.needs,
        proof=proof,
        files=_file_words(files, out),
        fabric_names=names,
    )
    summary.write_text(text, "utf-8")
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
                "note": need.note,
            }
            for need in published.needs
        ],
        "warnings": list(published.cut.warnings),
    }


def _line_words(project: Project) -> list[str]:
    """The lines, a sentence each: from where to where."""
    out = []
    for line in project.lines:
        ends = " to ".join(
            f"the {end.edge.replace('-', ' ')}, {end.text or f'{end.distance_mm:g} mm'} from the {end.landmark}"
            for end in (line.start, line.end)
        )
        mirrored = ", both halves alike" if line.symmetric else ""
        out.append(f"{line.name}, {line.side}: from {ends}{mirrored}")
    return out


def _file_words(files: Sequence[Path], out: Path) -> dict[str, str]:
    return {name: _FILES.get(Path(name).name, "a piece") for name in (p.relative_to(out).as_posix() for p in files)}
