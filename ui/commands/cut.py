"""``mockup cut``: pieces cut by the lines of a split file, or by one line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import ALLOWANCE, FILE, OUT_FOLDER, PROJECT
from ui.commands.pieces import cloth_names, cut_area, proof_figures, read_any
from ui.commands.terminal import absolute, forbid, say, whole_folder, with_json

if TYPE_CHECKING:
    from mockup.pattern.piece import Piece


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
    cloths = cloth_names(project)
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
