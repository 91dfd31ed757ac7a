"""Everything that a print of cut pieces says, kept beside them: any paper can be printed later, from that same cut."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import numpy as np

from mockup.geometry.path import XY, Path
from mockup.pattern.piece import Corner, Dart, Edge, EdgeKind, HowToCut, Mark, Notch, Piece
from mockup.pattern.proof import Proof, ProofRow
from mockup.sheets.printed_pieces import pieces_pdf
from swatches.errors import FileFormatError
from swatches.job import QUIET, Job


@dataclass(frozen=True, slots=True, eq=False)
class ToPrint:
    """What is printed, whatever the paper; see :func:`mockup.sheets.printed_pieces.pieces_pdf`.

    Attributes:
        pieces: on their stitch lines, mm.
        proof: of the cut that made them.
        title: the project's name.
        date: the project's date.
        note: one more line under the title.
        fabric_names: fabric id → the person's name for it.
        one_way: ids of the fabrics that must lie one way up.
    """

    pieces: tuple[Piece, ...]
    proof: Proof
    title: str
    date: str = ""
    note: str = ""
    fabric_names: dict[str, str] | None = None
    one_way: tuple[str, ...] = ()

    def pdf(self, paper: str, *, job: Job = QUIET) -> bytes:
        """Print the pieces at 1:1 on a paper; the same bytes at any time."""
        return pieces_pdf(
            self.pieces, paper=paper, title=self.title, date=self.date, note=self.note,
            fabric_names=self.fabric_names, one_way=self.one_way, proof=self.proof, job=job,
        )  # fmt: skip


def write_to_print(found: ToPrint) -> str:
    """Write it down as JSON, every number to its last place: what is read back prints to the same bytes."""
    return json.dumps(_plain(found), ensure_ascii=False)


def read_to_print(text: str | bytes) -> ToPrint:
    """Read what :func:`write_to_print` wrote.

    Raises:
        FileFormatError: it is nothing of that kind.
    """
    try:
        raw = json.loads(text)
        proof = raw["proof"]
        return ToPrint(
            **{
                **raw,
                "pieces": tuple(_piece(p) for p in raw["pieces"]),
                "proof": Proof(**{**proof, "rows": tuple(ProofRow(**r) for r in proof["rows"])}),
                "one_way": tuple(raw["one_way"]),
            }
        )
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise FileFormatError(
            "pieces to print", expected="what was written down when they were cut", got=type(error).__name__,
            next_step="Make the pieces again",
        ) from error  # fmt: skip


def _plain(value: Any) -> Any:
    if isinstance(value, Path):
        return value.cubics.tolist()
    if is_dataclass(value):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value) if f.init}
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    return value.item() if isinstance(value, np.generic) else value


def _path(cubics: Sequence[Any]) -> Path:
    return Path(np.array(cubics, dtype=np.float64))


def _point(xy: Sequence[float]) -> XY:
    x, y = xy
    return float(x), float(y)


def _edge(raw: dict[str, Any]) -> Edge:
    return Edge(
        **{**raw, "path": _path(raw["path"]), "kind": EdgeKind(raw["kind"]), "corner": Corner(raw["corner"])}
    )  # fmt: skip


def _piece(raw: dict[str, Any]) -> Piece:
    grain = raw["grainline"]
    return Piece(
        **{
            **raw,
            "edges": tuple(_edge(e) for e in raw["edges"]),
            "grainline": None if grain is None else (_point(grain[0]), _point(grain[1])),
            "notches": tuple(Notch(**n) for n in raw["notches"]),
            "marks": tuple(Mark(**{**m, "path": _path(m["path"])}) for m in raw["marks"]),
            "how": HowToCut(raw["how"]),
            "holes": tuple(tuple(_edge(e) for e in ring) for ring in raw["holes"]),
            "darts": tuple(Dart(**{**d, "tip": _point(d["tip"])}) for d in raw["darts"]),
        }
    )
