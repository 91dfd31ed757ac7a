"""Cutting from the page: every file to download, and what the page shows of the cut pieces."""

from __future__ import annotations

import io
import json
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pypdfium2

from mockup import journey
from mockup.journey.joining import DIFFERED, Join
from mockup.journey.to_print import write_to_print
from mockup.pattern.piece import Piece
from mockup.project import Project
from swatches.errors import InputError
from swatches.job import Job, check
from swatches.safe_write import write_whole
from swatches.units import length
from ui.parts.making import Facts, cut_facts, zipped
from ui.parts.session import State
from ui.parts.words import counted
from ui.questions.pieces_drawn import drawn_pieces
from ui.questions.pieces_print import PRINTS, TO_PRINT
from ui.questions.pieces_told import list_told, order_told, proof_told, seams_told

SHOWN = "pieces.json"
"""What the page draws; beside the files to download, and none of them."""
_PAPER_WORDS = {
    "A4": "A4",
    "Letter": "US Letter",
    "A0": "A0, for a copy shop",
    "roll36": "on a 36 in roll, for a copy shop",
    "projector": "for a projector",
}
_FILES = {
    "handout.pdf": "Handout: how others make these lines on their own pattern",
    "cutting-list.csv": "Cutting list, as a table",
    "pieces-svg.zip": "Every piece as a drawing (SVG)",
    "pieces.dxf": "All pieces for cutters and pattern programs (DXF)",
    "split.json": "The lines, as a file",
    "proof.json": "The proof, figure by figure",
    "choices.png": "All choices side by side (picture)",
}


def publish(
    project: Project,
    folder: Path,
    out: Path,
    state: State,
    *,
    allowance: str,
    paper: str,
    joins: Sequence[Join] = (),
    own_pattern: bool = False,
    strict: bool = False,
    job: Job,
) -> tuple[list[str], Facts]:
    """Cut the pieces and write every file to download.

    Without pattern pieces the lines as a file and the handout still come out. Of the prints only that on the chosen
    paper is made: each takes as long as the cut, and few people print on two papers. The others are named too, and
    :mod:`ui.questions.pieces_print` makes them when they are fetched.

    Args:
        project: the project.
        folder: its folder.
        out: where the files go.
        state: what the page remembers: the choice that is shown.
        allowance: of new seams, as typed.
        paper: the print that is made at once, and named first.
        joins: seams that go after the cut.
        own_pattern: the person says that the pattern is theirs to pass on.
        strict: refuse a join whose edges are not there, instead of leaving it out with a warning.
        job: progress.

    Returns:
        File names in ``out``, and the facts of the cut.

    Raises:
        InputError: the allowance cannot be used, or there is no scale.
        ProofError: the proof failed; nothing is given out.
    """
    typed = length(allowance, what="seam allowance", minimum_mm=0.0, bare=state.unit)
    letter = state.choice if any(c.letter == state.choice for c in project.colourways) else ""
    with tempfile.TemporaryDirectory(prefix="mockup-cut-") as name:
        work = Path(name)
        if not project.pieces:
            return _without_pieces(project, folder, letter, work, out, str(typed), paper)
        found = journey.publish(
            project, folder, letter, work, allowance=typed, paper=paper, joins=joins, own_pattern=own_pattern, job=job
        )
        check(job)
        lost = [w for w in found.cut.warnings if w.startswith("The seam ") and "was joined" in w]
        if strict and lost:
            raise _lost(found.cut.pieces, joins[-1])
        (work / "pieces-svg.zip").write_bytes(zipped(sorted((work / "pieces").glob("*.svg"))))
        (work / TO_PRINT).write_text(write_to_print(found.to_print), "utf-8")
        prints = sorted(PRINTS, key=lambda name: PRINTS[name] != paper)
        files = [n for n in _FILES if (work / n).exists()]
        fabrics = journey.fabric_names(project)
        pieces = found.cut.pieces
        shown = {
            "after": drawn_pieces(pieces, fabrics),
            "proof": proof_told(found.cut.proof),
            "seams": seams_told(pieces, state.unit),
            "list": list_told(pieces, fabrics, state.unit),
            "order": order_told(pieces, journey.lightness(project)),
            "joins": [{"one": j.one, "other": j.other, "cloth": _cloth_said(j, found.cut.warnings)} for j in joins],
            "files": [_file(n, work / n) for n in (*prints, *files)],
        }
        (work / SHOWN).write_text(json.dumps(shown, ensure_ascii=False), "utf-8")
        facts = cut_facts(found.cut, found.needs, project, state.unit)
        return _taken(work, out, [prints[0], *files, TO_PRINT, SHOWN]), facts


def add_file(out: Path, name: str, *, fresh: bool) -> None:
    """Name one more file among those to download; where the others are of another step, they are dropped."""
    target = out / SHOWN
    shown = json.loads(target.read_text("utf-8")) if fresh and target.is_file() else {"files": []}
    shown["files"] = [*(f for f in shown["files"] if f["name"] != name), _file(name, out / name)]
    write_whole(target, json.dumps(shown, ensure_ascii=False).encode(), what="list of files")


def _cloth_said(join: Join, notes: Sequence[str]) -> str:
    """What a join says of two cloths that became one; empty where its pieces were of one cloth."""
    one, other = (place.rpartition(":")[0] for place in (join.one, join.other))
    return next((note for note in notes if note.startswith(f"{one} and {other} {DIFFERED};")), "")


def _lost(pieces: Sequence[Piece], wanted: Join) -> InputError:
    """Why a seam cannot go: it runs round a shape that is let in, or an edge of it is not there any more."""
    round_a_hole = {f"{p.name}:{e.name}": e.name for p in pieces for hole in p.holes for e in hole}
    for key in (wanted.one, wanted.other):
        if key in round_a_hole:
            return InputError(
                "seam", expected="one that runs from edge to edge of its pieces",
                got=f"{round_a_hole[key]}, which runs round a shape that is let in",
                next_step="Remove that line under 'Where do the lines run?', and make the pieces again",
            )  # fmt: skip
    return InputError(
        "seam", expected="an edge on each of two pieces", got="one that is not there any more",
        next_step="Press both again",
    )  # fmt: skip


def _without_pieces(
    project: Project, folder: Path, letter: str, work: Path, out: Path, allowance: str, paper: str
) -> tuple[list[str], Facts]:
    (work / "split.json").write_text(journey.write_split(project, letter), "utf-8")
    names = ["split.json"]
    if project.lines:
        sheet = paper if paper in ("A4", "Letter") else "A4"
        made = journey.handout(project, folder, letter, allowance=allowance, paper=sheet)
        (work / "handout.pdf").write_bytes(made)
        names.insert(0, "handout.pdf")
    (work / SHOWN).write_text(json.dumps({"files": [_file(n, work / n) for n in names]}, ensure_ascii=False), "utf-8")
    return _taken(work, out, [*names, SHOWN]), ()


def _file(name: str, path: Path) -> dict[str, Any]:
    """A file to download: its name, what it is, and how many sheets it has, where it is made already."""
    paper = PRINTS.get(name, "")
    label = f"Pieces at full size, {_PAPER_WORDS[paper]}" if paper else _FILES[name]
    pages = _pages(path, paper) if path.suffix == ".pdf" and path.exists() else ""
    return {"name": name, "label": label, "pages": pages}


def _pages(path: Path, paper: str) -> str:
    document = pypdfium2.PdfDocument(io.BytesIO(path.read_bytes()))
    try:
        count = len(document)
        if paper in ("roll36", "projector"):
            width, height = (v * 25.4 / 72 / 1000 for v in document[0].get_size())
            return f"{width:.2f} × {height:.2f} m"
    finally:
        document.close()
    return counted(count, "sheet" if paper else "page")


def _taken(work: Path, out: Path, names: Sequence[str]) -> list[str]:
    for name in names:
        write_whole(out / name, (work / name).read_bytes(), what=name)
    return list(names)
