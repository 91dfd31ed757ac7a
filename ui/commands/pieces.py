"""``mockup split``, ``pieces``, ``cut``, ``unfold``, ``print``: from the lines to paper pieces."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import ALLOWANCE, DATE, FILE, OUT_FILE, OUT_FOLDER, OUT_PDF, PROJECT
from ui.commands.pieces_read import described
from ui.commands.terminal import absolute, forbid, say, terminal_job, whole_folder, with_json

if TYPE_CHECKING:
    from mockup.pattern.piece import Piece


@click.command("split")
@click.argument("project", type=PROJECT)
@click.option("--choice", default="", help="Letter of the choice whose fabrics are written; without it, none are.")
@click.option("--out", type=OUT_FILE, help="The split file; without it, the answer is printed.")
@with_json
def split(project: Path, choice: str, out: Path | None, as_json: bool) -> None:
    """Write all style lines of PROJECT as geometry in mm, for this and other programs."""
    import json

    from mockup import journey
    from mockup.files import project_file
    from swatches.safe_write import write_whole
    from swatches.words import counted

    text = journey.write_split(project_file.load(project), choice.upper())
    if out is None:
        say(True, json.loads(text), "")
        return
    write_whole(out, text.encode(), what="--out")
    found = json.loads(text)
    lines = sum(len(view["lines"]) for view in found["views"])
    answer = {
        "split": absolute(out),
        "views": [view["name"] for view in found["views"]],
        "lines": lines,
        "panels": sum(len(view["panels"]) for view in found["views"]),
        "files": [absolute(out)],
    }
    say(as_json, answer, f"{out}: {counted(lines, 'line')}")


@click.command("cut")
@click.argument("pieces_file", type=FILE, metavar="PIECES")
@click.option("--split", "split_path", type=FILE, help="Cut by the lines of a split file.")
@click.option("--line", "line_d", metavar="'M x y C …'", help="Cut by one line in SVG path form, mm, y down.")
@click.option("--on-top", is_flag=True, help="With a closed --line: sew the shape on top; the piece stays whole.")
@click.option("--allowance", type=ALLOWANCE, default="15mm", show_default=True, help="On every new edge.")
@click.option(
    "--pressed",
    multiple=True,
    metavar="[LINE=]open|one side|enclosed",
    help="What becomes of the new seams: it shapes the corners of their allowances.",
)
@click.option(
    "--layer", "layers", multiple=True, help="Cut this layer by the lines too, such as lining; else it stays."
)
@click.option("--was", type=FILE, help="The former pattern, uncut: list what moved on this one. Needs --split.")
@click.option("--project", type=PROJECT, help="Name cloths on the pieces as this project does.")
@click.option("--out", type=OUT_FOLDER, help="Folder for one SVG a piece.")
@with_json
def cut(
    pieces_file: Path,
    split_path: Path | None,
    line_d: str | None,
    on_top: bool,
    allowance: Any,
    pressed: tuple[str, ...],
    layers: tuple[str, ...],
    was: Path | None,
    project: Path | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Cut PIECES by a split file or by one line; new edges get the allowance, the others keep theirs."""
    from swatches.errors import InputError

    if (split_path is None) == (line_d is None):
        got = "neither" if line_d is None else "both"
        raise InputError(
            "lines", expected="--split or --line", got=got, next_step="Add one, such as --split split.json"
        )
    if line_d is not None and was is not None:
        raise InputError("--was", expected="with --split", got="--line", next_step="Give the saved split file")
    cloths = _cloth_names(project)
    given = read_any(pieces_file)
    if line_d is not None:
        children, proof, warnings = _by_line(given, line_d, allowance, on_top=on_top)
    else:
        assert split_path is not None  # noqa: S101 - seen to above
        children, proof, warnings = _by_split(given, split_path, allowance, layers)
        if was is not None:
            warnings = (*warnings, *_moved(was, split_path, children, allowance))
    if pressed:
        children, proof = _pressed(children, proof, pressed)
    rows = [
        {
            "number": piece.number,
            "name": piece.name,
            "from": piece.parent or piece.name,
            "finished_area_mm2": piece.finished_area_mm2,
            "cut_area_mm2": cut_area(piece),
            "file": None,
        }
        for piece in children
    ]
    if out is not None and proof.ok:
        from mockup.files import svg
        from mockup.journey.publish import file_names

        names = file_names(children)
        old = written_before(out)
        with whole_folder(out) as folder:
            for piece, name in zip(children, names, strict=True):
                (folder / name).write_text(svg.write_pieces([piece], fabric_names=cloths), encoding="utf-8")
            whole = svg.write_pieces(children, fabric_names=cloths)  # to print and to lay
            (folder / "pieces.svg").write_text(whole, encoding="utf-8")
            (folder / RECORD).write_text(record_text([*names, "pieces.svg"]), encoding="utf-8")
        for name in sorted(old - {*names, "pieces.svg"}):
            (out / name).unlink(missing_ok=True)
        for row, name in zip(rows, names, strict=True):
            row["file"] = absolute(out / name)
    figures = proof_figures(proof)
    text = "\n".join(
        f"{r['number'] or '–':>3}  {r['name']} (from {r['from']}): {r['cut_area_mm2'] / 100:.1f} cm² cut" for r in rows
    )
    say(
        as_json,
        {"pieces": rows, "proof": figures, "warnings": list(warnings)},
        "\n".join([text, proof.sentence, *warnings]),
    )
    if not proof.ok:
        forbid()


@click.command("unfold")
@click.argument("pieces_file", type=FILE, metavar="PIECES")
@click.option("--out", type=OUT_FILE, help="SVG with the pieces unfolded.")
@with_json
def unfold(pieces_file: Path, out: Path | None, as_json: bool) -> None:
    """Unfold the pieces that are cut on the fold."""
    from mockup.files import svg
    from mockup.pattern.cutting_list import how_to_cut
    from mockup.pattern.unfold import unfolded
    from swatches.safe_write import write_whole

    found, warnings = [], []
    for piece in read_any(pieces_file):
        if piece.fold is None:
            found.append(piece)
            continue
        whole, said = unfolded(piece)
        found.append(whole)
        warnings += said
    answer: dict[str, Any] = {"pieces": [described(piece) for piece in found], "warnings": warnings, "files": []}
    if out is not None:
        write_whole(out, svg.write_pieces(found).encode(), what="--out")
        answer["files"] = [absolute(out)]
    say(as_json, answer, "\n".join([*(f"{p.name}: {how_to_cut(p)}" for p in found), *warnings]))


@click.command("print")
@click.argument("pieces_file", type=FILE, metavar="PIECES")
@click.option("--paper", default="A4", show_default=True, help="A4, Letter, A0, roll36 or projector.")
@click.option("--title", default="", help="Title on every sheet.")
@click.option("--date", type=DATE, default="", help="Date on every sheet, such as 2026-11-24.")
@click.option("--project", type=PROJECT, help="Name cloths as this project does.")
@click.option("--out", type=OUT_PDF, required=True, help="The PDF, at 1:1.")
@with_json
def print_(
    pieces_file: Path, paper: str, title: str, date: str, project: Path | None, out: Path, as_json: bool
) -> None:
    """Print PIECES at full size, with joins, a map of the sheets and squares to check the scale by."""
    import io

    import pypdfium2

    from mockup.sheets.printed_pieces import pieces_pdf
    from swatches.safe_write import write_whole

    cloths = _cloth_names(project)
    given = read_any(pieces_file)
    with terminal_job() as job:
        data = pieces_pdf(given, paper=paper, title=title or pieces_file.stem, date=date, fabric_names=cloths, job=job)
    write_whole(out, data, what="--out")
    document = pypdfium2.PdfDocument(io.BytesIO(data))
    count = len(document)
    document.close()
    answer = {"pdf": absolute(out), "paper": paper, "sheets": count, "pieces": len(given), "files": [absolute(out)]}
    say(
        as_json,
        answer,
        f"{out}: {count} sheet{'s' if count != 1 else ''} of {paper}; print at 100 % and measure the squares",
    )


def read_any(path: Path) -> tuple[Piece, ...]:
    """Read pieces from a file of any kind, by what it is; in a process of its own, since it may be a stranger's."""
    from mockup.files.reading import is_picture, read
    from swatches.errors import FileFormatError, PictureError

    try:
        return read(path).pieces
    except PictureError as error:
        if not is_picture(path):
            raise
        raise FileFormatError(
            path.name,
            expected="pattern pieces as SVG, DXF or PDF",
            got="a picture",
            next_step="Give the file of the pieces; a photo of a paper piece needs the printed sheet or cards beside it"
            " (mockup pieces read)",
        ) from error


def _cloth_names(project: Path | None) -> dict[str, str]:
    """What a project calls its cloths, by id: a file of pieces carries ids only."""
    from mockup.files import project_file
    from mockup.journey.cloths import fabric_names

    return {} if project is None else fabric_names(project_file.load(project))


RECORD = "cut.json"
"""What ``cut`` wrote into a folder, so that a second cut takes away the first one's pieces and nothing else."""


def record_text(names: Sequence[str]) -> str:
    """The record of a cut: the names of its files."""
    import json

    return json.dumps({"format": "garment cut", "version": 1, "files": sorted(names)}, indent=1) + "\n"


def written_before(folder: Path) -> set[str]:
    """Names of the SVG files that an earlier cut wrote into a folder, by its record there; empty without one."""
    import json
    import re

    try:
        found = json.loads((folder / RECORD).read_text("utf-8"))
        names = found["files"] if found.get("format") == "garment cut" else []
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return set()
    return {n for n in names if isinstance(n, str) and re.fullmatch(r"[a-z0-9][a-z0-9-]*\.svg", n)}


def cut_area(piece: Piece) -> float:
    """Area inside the cut line, mm²."""
    from mockup.pattern.allowance import cut_outline

    return cut_outline(piece).area_mm2


def proof_figures(proof: Any) -> dict[str, Any]:
    """Give the proof's three figures and whether it holds."""
    return {
        "area_error_mm2": proof.area_error_mm2,
        "stitch_difference_mm": proof.stitch_difference_mm,
        "rejoin_error_mm": proof.rejoin_error_mm,
        "ok": proof.ok,
    }


def _pressed(children: Sequence[Piece], proof: Any, said: Sequence[str]) -> tuple[tuple[Piece, ...], Any]:
    """Shape the corners of the new seams by what becomes of them; the cut outlines are proven again."""
    from mockup.pattern.pressing import Pressing, pressed
    from mockup.pattern.proof import together
    from swatches.errors import InputError

    default, each = Pressing.ONE_SIDE, {}
    for text in said:
        line, equals, what = text.rpartition("=")
        try:
            pressing = Pressing(what.strip().lower().removeprefix("to "))
        except ValueError:
            known = ", ".join(f"'{p}'" for p in Pressing)
            raise InputError("--pressed", expected=known, got=repr(text), next_step="Write open, for example") from None
        if equals:
            each[line.strip()] = pressing
        else:
            default = pressing
    shaped, shown = pressed(children, each, default)
    return shaped, together([proof, shown])


def _moved(was: Path, split_path: Path, children: Sequence[Piece], allowance: Any) -> tuple[str, ...]:
    """What the split does otherwise on this pattern than on the former one, one sentence each."""
    from mockup.files.split_file import read_split
    from mockup.pattern.apply_split import apply_split
    from mockup.pattern.refit import what_moved

    old = apply_split(read_any(was), read_split(split_path), allowance_mm=allowance.mm, allowance_text=str(allowance))
    return tuple(row.sentence for row in what_moved(old.pieces, children))


def _by_line(
    given: Sequence[Piece], line_d: str, allowance: Any, *, on_top: bool
) -> tuple[tuple[Piece, ...], Any, tuple[str, ...]]:
    from mockup.files.svg_path import path_from_d
    from mockup.pattern.cut import CutLine, cut_piece
    from swatches.errors import InputError

    if len(given) != 1:
        raise InputError(
            "PIECES",
            expected="one piece to cut by --line",
            got=f"{len(given)} pieces",
            next_step="Give one piece a file",
        )
    line = CutLine("line-1", "line", path_from_d(line_d, what="--line"), on_top=on_top)
    found = cut_piece(given[0], [line], allowance.mm, allowance_text=str(allowance))
    children = tuple(child.with_(number=number) for number, child in enumerate(found.children, 1))
    return children, found.proof, found.notes


def _by_split(
    given: Sequence[Piece], path: Path, allowance: Any, layers: Sequence[str]
) -> tuple[tuple[Piece, ...], Any, tuple[str, ...]]:
    from mockup.files.split_file import read_split
    from mockup.pattern.apply_split import apply_split
    from mockup.pattern.same_garment import doubts

    split_read = read_split(path)
    found = apply_split(
        given, split_read, allowance_mm=allowance.mm, allowance_text=str(allowance), split_layers=layers
    )
    return found.pieces, found.proof, tuple(dict.fromkeys((*doubts(given, split_read), *found.warnings)))
