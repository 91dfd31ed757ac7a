"""What could be made from the cloth that there is: how far a line may move, and whole designs with their lays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from mockup.checks.finding import Grade
from mockup.checks.limits import limits
from mockup.checks.run import check as judged
from mockup.checks.scene import scene
from mockup.journey.cutting import pieces_of, split_of
from mockup.journey.design import paint_view
from mockup.journey.known import find
from mockup.lay.lay import LayPiece
from mockup.lay.need import lay_pieces
from mockup.lay.stock import Stock, stock_of
from mockup.project import Project
from mockup.proposals.families import Family, usual
from mockup.proposals.from_stash import Design, Designs, designs
from mockup.proposals.line_range import LineRange, cut_pieces, line_range
from mockup.sheets.lay_plan import lay_svg
from swatches.job import QUIET, Job, Part
from swatches.photo import write_png


def stock_in(project: Project, *, roll: bool = True) -> dict[str, Stock]:
    """What there is of every owned cloth of the project: fabric id → stock."""
    return {f.id: stock_of(f, roll=roll) for f in project.fabrics if f.owned}


def how_far(
    project: Project,
    folder: Path,
    line: str,
    letter: str = "A",
    *,
    roll: bool = True,
    time_s: float = 0.6,
    seed: int = 0,
    job: Job = QUIET,
) -> LineRange:
    """Find how high and how low a line may run, with the line of its name on the other side; see :func:`line_range`.

    Args:
        project: the project, measured, with pieces.
        folder: its folder.
        line: id of the line.
        letter: the choice that says which cloth is where.
        roll: whether what is left on the roll counts, not only remnants.
        time_s: for each lay.
        seed: of the random choices.
        job: progress and cancellation.
    """
    moved = find(project, "line", line)
    find(project, "colourway", letter)
    split_of(project)  # refuses a project without a scale
    which = [x.id for x in project.lines if x.name == moved.name]
    stock = stock_in(project, roll=roll)
    return line_range(project, pieces_of(project, folder), letter, which, stock, time_s=time_s, seed=seed, job=job)


def from_stash(
    project: Project,
    folder: Path,
    *,
    families: Sequence[Family] | None = None,
    stock: Mapping[str, Stock] | None = None,
    roll: bool = True,
    count: int = 6,
    time_s: float = 60.0,
    seed: int = 0,
    job: Job = QUIET,
) -> Designs:
    """Search for designs that can be cut from the project's own cloth; nothing that a check stops is given.

    Args:
        project: the project, measured, with pieces.
        folder: its folder.
        families: lines to try; None: its own lines and the usual presets.
        stock: what there is; None: of every owned cloth.
        roll: whether what is left on the roll counts, not only remnants.
        count: stop after so many.
        time_s: for the whole search.
        seed: of the random choices.
        job: progress and cancellation.
    """
    split_of(project)
    table = limits()

    def nothing_forbids(tried: Project, letter: str) -> bool:
        found = judged(scene(tried, tried.colourway(letter), table=table))
        return not any(f.grade is Grade.STOP and f.code != "enough-cloth" for f in found)

    return designs(
        project,
        pieces_of(project, folder),
        usual(project) if families is None else families,
        stock_in(project, roll=roll) if stock is None else stock,
        count=count,
        time_s=time_s,
        seed=seed,
        judge=nothing_forbids,
        job=job,
    )


def write_designs(
    project: Project,
    folder: Path,
    found: Sequence[Design],
    out: Path,
    *,
    roll: bool = True,
    allowance_mm: float = 15.0,
    job: Job = QUIET,
) -> tuple[Path, ...]:
    """Paint every design and draw its lays; gives the files.

    Args:
        project: the project.
        folder: its folder.
        found: designs of it.
        out: folder to write into.
        roll: as in the search.
        allowance_mm: as in the search.
        job: progress and cancellation.
    """
    files = []
    for k, design in enumerate(found):
        letter = design.colourway.letter
        part = Part(job, k / len(found), (k + 1) / len(found))
        part.step(f"Painting design {letter}", 0.0)
        shown = replace(project, lines=design.lines, colourways=(design.colourway,))
        for view in [v.name for v in project.views if v.kind == "drawing"]:
            picture = paint_view(shown, folder, letter, view, long_side=1400)
            files.append(write_png(out / f"{letter}-{view}.png", picture))
        laid = laid_pieces(shown, folder, design, allowance_mm)
        for fabric, lay in design.fits.lays.items():
            known = find(project, "fabric", fabric)
            used = {p.remnant for p in lay.placements}
            scraps = [s for s in stock_of(known, roll=roll).scraps if s.name in used]
            target = out / f"{letter}-lay-{fabric}.svg"
            target.write_text(lay_svg(lay, laid[fabric], scraps, title=f"{letter}: {known.name}"), encoding="utf-8")
            files.append(target)
    return tuple(files)


def laid_pieces(
    project: Project, folder: Path, design: Design, allowance_mm: float = 15.0
) -> dict[str, Sequence[LayPiece]]:
    """Give a design's pieces as they were laid, by cloth."""
    made = cut_pieces(project, pieces_of(project, folder), design.lines, design.colourway.fabrics, allowance_mm)
    return {
        fabric: lay_pieces([p for p in made if p.fabric == fabric]) for fabric in dict.fromkeys(p.fabric for p in made)
    }
