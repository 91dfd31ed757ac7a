"""What could be made from the cloth that there is: is it enough, how far a line may move, and whole designs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from mockup.checks.finding import Grade
from mockup.checks.limits import limits
from mockup.checks.run import check as judged
from mockup.checks.scene import scene
from mockup.journey.cutting import pieces_of, split_of
from mockup.journey.design import panels_of
from mockup.journey.inherit import none_bare
from mockup.journey.known import find, unknown
from mockup.journey.laid_cloth import Cloths, exact_cloths
from mockup.journey.painting import paint_view
from mockup.lay.lay import Lay, LayPiece
from mockup.lay.need import lay_pieces
from mockup.lay.scraps import lay_on_scraps
from mockup.lay.stock import Fits, Stock, fits, stock_of
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.proposals.families import Family, usual
from mockup.proposals.from_stash import Design, Designs, designs
from mockup.proposals.line_range import LineRange, cut_pieces, line_range
from mockup.proposals.when_short import Enough, enough
from mockup.sheets.lay_plan import lay_pdf, lay_svg
from swatches.errors import ProjectError
from swatches.fabric import Fabric
from swatches.job import QUIET, Job, Part, check
from swatches.photo import write_png
from swatches.remnant_photo import RemnantPicture, picture_of


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


def enough_cloth(
    project: Project,
    folder: Path,
    letter: str = "A",
    *,
    roll: bool = True,
    allowance_mm: float = 15.0,
    time_s: float = 30.0,
    lay_s: float = 1.5,
    seed: int = 0,
    job: Job = QUIET,
) -> Enough:
    """Lay a choice on the cloth that there is; where one is short, say what would help. See :func:`enough`.

    Args:
        project: the project, measured, with pieces.
        folder: its folder.
        letter: the choice.
        roll: whether what is left on the roll counts, not only remnants.
        allowance_mm: of the lines.
        time_s: for looking for suggestions; 0: none.
        lay_s: for one lay.
        seed: of the random choices.
        job: progress and cancellation.
    """
    find(project, "colourway", letter)
    split_of(project)
    return enough(
        project, pieces_of(project, folder), letter, stock_in(project, roll=roll), allowance_mm=allowance_mm,
        time_s=time_s, lay_s=lay_s, seed=seed, job=job,
    )  # fmt: skip


def sizes_that_fit(
    project: Project, folder: Path, letter: str = "A", *, roll: bool = True, time_s: float = 2.0, seed: int = 0,
    job: Job = QUIET,
) -> dict[str, Fits]:  # fmt: skip
    """Say of every size in the pattern whether it can be cut from the cloth that there is, in the pattern's order.

    A piece without a size belongs to all.

    Raises:
        ProjectError: the pattern has one size only.
    """
    pieces = pieces_of(project, folder)
    sizes = list(dict.fromkeys(p.size for p in pieces if p.size))
    if not sizes:
        raise ProjectError(
            "sizes", expected="pattern pieces of several sizes", got="pieces without a size",
            next_step="Read a pattern file with its sizes named",
        )  # fmt: skip
    fabrics = dict(find(project, "colourway", letter).fabrics)
    stock = stock_in(project, roll=roll)
    out = {}
    for k, size in enumerate(sizes):
        check(job)
        job.step(f"Laying size {size}", k / len(sizes))
        mine = [p for p in pieces if p.size in ("", size)]
        made = cut_pieces(project, mine, project.lines, fabrics, 15.0)
        out[size] = fits(made, stock, time_s=time_s, seed=seed, job=job)
    return out


def remnants_for(
    project: Project, folder: Path, letter: str, piece: str, *, roll: bool = True, time_s: float = 1.0, seed: int = 0,
    job: Job = QUIET,
) -> tuple[tuple[str, str, Lay], ...]:  # fmt: skip
    """Say of every remnant (and roll) whether one piece can be cut from it alone: fabric id, remnant, and the lay.

    Args:
        project: the project, measured, with pieces.
        folder: its folder.
        letter: the choice whose lines and cloth the piece is cut by.
        piece: its name or number; all its copies are laid.
        roll: whether what is left on the roll counts.
        time_s: for each remnant.
        seed: of the random choices.
        job: progress and cancellation.

    Raises:
        InputError: there is no such piece.
    """
    fabrics = dict(find(project, "colourway", letter).fabrics)
    made = cut_pieces(project, pieces_of(project, folder), project.lines, fabrics, 15.0)
    mine = lay_pieces([p for p in made if piece in (p.name, str(p.number)) or p.name.startswith(f"{piece},")])
    if not mine:
        raise unknown("piece", piece, sorted({p.name for p in made}))
    out = []
    for fabric, stock in stock_in(project, roll=roll).items():
        for scrap in stock.scraps:
            check(job)
            job.step(f"Laying {mine[0].name} on {scrap.name}", None)
            lay = lay_on_scraps(mine, [scrap], clearance_mm=2.0, time_s=time_s, seed=seed, job=job)
            out.append((fabric, scrap.name, lay))
    return tuple(out)


def from_stash(
    project: Project,
    folder: Path,
    *,
    families: Sequence[Family] | None = None,
    stock: Mapping[str, Stock] | None = None,
    roll: bool = True,
    count: int = 6,
    allowance_mm: float = 15.0,
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
        allowance_mm: of the lines.
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
        allowance_mm=allowance_mm,
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
        shown, laid, cloths = with_design(project, folder, design, allowance_mm)
        for view in [v.name for v in project.views]:
            picture = paint_view(shown, folder, letter, view, long_side=1400, cloths=cloths.get(view))
            files.append(write_png(out / f"{letter}-{view}.png", picture))
        for fabric, lay in design.fits.lays.items():
            known = find(project, "fabric", fabric)
            used = {p.remnant for p in lay.placements}
            scraps = [s for s in stock_of(known, roll=roll).scraps if s.name in used]
            title, shots = f"{letter}: {known.name}", pictures_of(known, folder)
            target = out / f"{letter}-lay-{fabric}.svg"
            target.write_text(lay_svg(lay, laid[fabric], scraps, title=title, pictures=shots), encoding="utf-8")
            printed = target.with_suffix(".pdf")
            printed.write_bytes(lay_pdf(lay, laid[fabric], scraps, title=title, pictures=shots))
            files += [target, printed]
    return tuple(files)


def with_design(
    project: Project, folder: Path, design: Design, allowance_mm: float = 15.0
) -> tuple[Project, dict[str, tuple[LayPiece, ...]], dict[str, Cloths]]:
    """The project as one design has it: its lines and cloth alone; its pieces by cloth; and by view just that cloth.

    A panel that has no pattern piece is shown in the design's main cloth, since nothing is dealt to it.
    """
    drawn = replace(project, lines=design.lines)
    shown = replace(drawn, colourways=(none_bare(design.colourway, panels_of(drawn)),))
    made = made_pieces(shown, folder, design, allowance_mm)
    laid = {f: lay_pieces([p for p in made if p.fabric == f]) for f in design.fits.lays}
    return shown, laid, exact_cloths(shown, folder, design.colourway.letter, made, laid, design.fits.lays)


def write_lays(
    project: Project, folder: Path, letter: str, found: Enough, out: Path, *, roll: bool = True
) -> tuple[Path, ...]:
    """Draw the lays of a choice, each as SVG and PDF, and the garment with just the cloth that its pieces lie on."""
    files: list[Path] = []
    for fabric, lay in found.lays.items():
        known = find(project, "fabric", fabric)
        used = {p.remnant for p in lay.placements}
        scraps = [x for x in stock_of(known, roll=roll).scraps if x.name in used]
        if not scraps:
            continue
        title, shots = f"{letter}: {known.name}", pictures_of(known, folder)
        target = out / f"{letter}-lay-{fabric}.svg"
        target.write_text(lay_svg(lay, found.pieces[fabric], scraps, title=title, pictures=shots), encoding="utf-8")
        printed = target.with_suffix(".pdf")
        printed.write_bytes(lay_pdf(lay, found.pieces[fabric], scraps, title=title, pictures=shots))
        files += [target, printed]
    fabrics = dict(find(project, "colourway", letter).fabrics)
    made = cut_pieces(project, pieces_of(project, folder), project.lines, fabrics, 15.0)
    cloths = exact_cloths(project, folder, letter, made, found.pieces, found.lays)
    for view in [v.name for v in project.views]:
        picture = paint_view(project, folder, letter, view, long_side=1400, cloths=cloths.get(view))
        files.append(write_png(out / f"{letter}-{view}.png", picture))
    return tuple(files)


def pictures_of(fabric: Fabric, folder: Path) -> dict[str, RemnantPicture]:
    """Give the pictures of a project cloth's remnants, by name, where there are some."""
    found = {r.name: picture_of(r, folder / "fabrics" / fabric.id, fabric) for r in fabric.remnants}
    return {name: picture for name, picture in found.items() if picture is not None}


def made_pieces(project: Project, folder: Path, design: Design, allowance_mm: float = 15.0) -> tuple[Piece, ...]:
    """Cut a design's pieces again, as they were laid."""
    return cut_pieces(project, pieces_of(project, folder), design.lines, design.colourway.fabrics, allowance_mm)
