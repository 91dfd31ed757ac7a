"""The person's own pattern pieces: laid by from any file, each asked which part of the picture it is."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from mockup import journey
from mockup.checks.in_unit import in_unit
from mockup.files.outlines import edges_at_corners
from mockup.files.preparing import folded, named
from mockup.files.reading import WHICH_LINE, Read, Said, read
from mockup.pattern.piece import EdgeKind, HowToCut, Piece
from mockup.pattern.recognise import Suggestion, named_as, suggest
from mockup.project import Project
from mockup.split.split import Split, SplitView
from swatches.errors import InputError, MockupError
from swatches.job import Job
from swatches.units import length
from ui.parts.desk import Desk, uploaded
from ui.parts.messages import read as read_message
from ui.parts.scene import Said as Told
from ui.parts.session import Session
from ui.parts.words import counted
from ui.questions.pieces_asked import line_said, unsaid, without_allowance

KINDS = [".svg", ".dxf", ".pdf", ".png", ".jpg", ".jpeg", ".heic", ".webp", ".tif", ".tiff"]
LINES = [("I do not know yet", ""), ("sewn on (stitch line)", "stitch"), ("cut (cut line)", "cut")]
LAID_ON = [
    ("the reference sheet", "sheet"),
    ("between the four cards", "cards"),
    ("a scanner, 300 dots an inch", "scan"),
]
_SCAN_MM = 25.4 / 300


class WhichSaid(BaseModel):
    """What a piece is: 'view:area' or 'view:area:side', or nothing of the picture."""

    model_config = ConfigDict(extra="ignore")
    do: Literal["which"]
    piece: str = Field(max_length=120)
    value: str = Field(max_length=120)


class EdgeSaid(BaseModel):
    """An edge's name and allowance, and whether it lies on the fold."""

    model_config = ConfigDict(extra="ignore")
    do: Literal["edge"]
    piece: str = Field(max_length=120)
    edge: str = Field(max_length=120)
    name: str = Field(default="", max_length=40)
    allowance: str = Field(default="", max_length=40)
    fold: bool = False


def build(desk: Desk) -> None:
    """Lay out what adds pieces, and wire it."""
    import gradio as gr

    pieces = gr.UploadButton("Add your pattern pieces", file_types=KINDS, elem_id="add-pieces")
    with gr.Accordion("About the file", open=False):
        line = gr.Dropdown(LINES, value="", label="The outline in the file is the line that is", elem_id="line-is")
        allowance = gr.Textbox("", label="Its seam allowance, if you know it", max_length=40, elem_id="own-allowance")
        known = gr.Textbox(
            "",
            label="How long is the largest piece? One known length confirms the size",
            max_length=40,
            elem_id="known",
        )
        laid = gr.Dropdown(LAID_ON, value="sheet", label="In a photo, the paper lies on", elem_id="laid-on")
        apart = gr.Textbox("", label="From card 1 to card 2, by tape", max_length=40, elem_id="cards-apart")
        kind = gr.Textbox("", label="In a PDF, the number of your size's line", max_length=8, elem_id="pdf-kind")
    inputs = (pieces, line, allowance, known, laid, apart, kind)
    desk.slow(pieces.upload, "print", "Reading the pieces", _read, _keep_pieces, *inputs)


def _read(
    session: Session, job: Job, path: Any, line: str, allowance: str, known: str, laid: str, apart: str, kind: str
) -> tuple[Read, tuple[Piece, ...], bool]:
    data = uploaded(path, "pattern pieces")
    unit = session.state.unit
    said = Said(
        reference=_SCAN_MM if laid == "scan" else laid,
        distance_mm=length(apart, what="distance of the cards", bare=unit).mm if apart.strip() else None,
        pens=[int(kind)] if kind.strip().isdigit() else (),
    )
    if known.strip():
        first = read(data, said, job=job)
        largest = max(first.pieces, key=lambda p: p.finished_area_mm2)
        said = replace(said, known=(largest.name, length(known, what="known length", minimum_mm=1.0, bare=unit)))
    if line:
        typed = length(allowance.strip() or "0", what="seam allowance", minimum_mm=0.0, bare=unit)
        said = replace(said, line_is=line, allowance=typed)
    found = read(data, said, job=job)
    pieces, guessed = suggested(found.pieces, _split(session.need()))
    return found, pieces, guessed


def _keep_pieces(session: Session, result: tuple[Read, tuple[Piece, ...], bool]) -> Told | None:
    found, pieces, guessed = result
    project, _ = journey.keep_pieces(session.folder, session.need(), pieces)
    session.keep(project, "pattern pieces")
    texts = [f"{counted(len(pieces), 'pattern piece')} laid by: {', '.join(p.name for p in pieces[:8])}."]
    if guessed:
        texts.append("Look whether each is what we take it for, below the drawing.")
    if without_allowance(pieces):
        texts.append("Say which line their outline is, below the drawing.")
    asks = [ask for ask in found.asks if ask != WHICH_LINE]  # which is asked there, with its two answers
    return Told("print", in_unit(" ".join([*texts, *found.notes, *asks]), session.state.unit))


def suggested(pieces: tuple[Piece, ...], split: Split | None) -> tuple[tuple[Piece, ...], bool]:
    """Name plain outlines by what they look like; gives the pieces, and whether anything was guessed."""
    if split is None:
        return pieces, False
    out, taken = [], set()
    for piece in pieces:
        if piece.view and unsaid(piece):  # the file says what it is, and nothing of its edges
            out.append(_as(piece, f"{piece.view}:{piece.area}", split))
            continue
        found = [] if piece.view else [s for s in suggest(piece, split) if (s.view, s.area) not in taken]
        if found:
            taken.add((found[0].view, found[0].area))
            piece = _called(named_as(piece, found[0], split), found[0])
        out.append(piece)
    return _unlike_names(out), bool(taken)


def recognised(folder: Path, before: Project, now: Project) -> Project:
    """Take plain outlines for what they look like as soon as sizes can be compared; else the project as it is."""
    split = _split(now)
    if not now.pieces or split is None or _split(before) is not None:
        return now
    pieces = journey.pieces_of(now, folder)
    found, _ = suggested(pieces, split)
    return now if found == pieces else journey.keep_pieces(folder, now, found)[0]


def _called(piece: Piece, what: Suggestion) -> Piece:
    name = what.view if what.area == "body" else f"{what.view} {what.area.replace('-', ' ')}"
    return piece.with_(name=name)


def _unlike_names(pieces: list[Piece]) -> tuple[Piece, ...]:
    seen: dict[str, int] = {}
    out = []
    for piece in pieces:
        seen[piece.name] = seen.get(piece.name, 0) + 1
        out.append(piece if seen[piece.name] == 1 else piece.with_(name=f"{piece.name} {seen[piece.name]}"))
    return tuple(out)


def which_shown(project: Project, pieces: tuple[Piece, ...]) -> list[dict[str, Any]]:
    """For every piece what it is taken for, and what else it may be."""
    split = _split(project)
    if split is None:
        return []
    areas = [
        (v.name, a) for v in split.views for a in dict.fromkeys(["body", *_sections(v), *(p.area for p in v.panels)])
    ]
    options = [{"value": f"{v}:{a}", "label": v if a == "body" else f"{v}, {a.replace('-', ' ')}"} for v, a in areas]
    options.append({"value": "", "label": "nothing that the picture shows"})
    return [
        {
            "piece": p.name,
            "value": f"{p.view}:{p.area}" if p.view else "",
            "asked": not p.view and unsaid(p),
            "options": options,
        }
        for p in pieces
    ]


def _sections(view: SplitView) -> list[str]:
    """The parts that the body is drawn in: bodice, skirt, …"""
    return list(dict.fromkeys(s.area for s in view.sections))


def act(session: Session, message: object) -> tuple[Project, str]:
    """Change what a piece is, an edge of it, or which line outlines are; gives the project and what to call the step.

    The session's lock is held, from the look at the project to the keeping of what it gives.
    """
    kind = message.get("do") if isinstance(message, dict) else ""
    if kind == "line-is":
        return line_said(session, message)
    return _which(session, message) if kind == "which" else _edge(session, message)


def _which(session: Session, message: object) -> tuple[Project, str]:
    said = read_message(WhichSaid, message)
    project = session.need()
    pieces = list(journey.pieces_of(project, session.folder))
    at = _index(pieces, said.piece)
    pieces[at] = _as(pieces[at], said.value, _split(project))
    return journey.keep_pieces(session.folder, project, pieces)[
        0
    ], f"{said.piece}: {said.value or 'not in the picture'}"


def _as(piece: Piece, value: str, split: Split | None) -> Piece:
    view, _, area = value.partition(":")
    if not view or split is None:
        return piece.with_(view="", area="body")
    parts = [name for v in split.views if v.name == view for name in _sections(v)]
    if area != "body" and area not in parts:
        return piece.with_(view=view, area=area)
    widest = max((e.allowance_mm for e in piece.edges), default=0.0)
    text = next((e.allowance_text for e in piece.edges if e.allowance_mm == widest), "")
    bare = piece.with_(edges=edges_at_corners(piece.outline), notches=(), how=HowToCut.SINGLE)
    # the person's word: however little it looks like that, its corners are tied as well as can be
    found = next((s for s in suggest(bare, split, likely=inf) if s.view == view and s.area == area), None)
    if found is None or not found.corners:
        return piece.with_(view=view, area=area)
    known = named_as(bare, found, split)
    edges = tuple(
        e if e.kind is EdgeKind.FOLD else replace(e, allowance_mm=widest, allowance_text=text) for e in known.edges
    )
    return known.with_(edges=edges)


def _edge(session: Session, message: object) -> tuple[Project, str]:
    said = read_message(EdgeSaid, message)
    project = session.need()
    pieces = journey.pieces_of(project, session.folder)
    piece = pieces[_index(pieces, said.piece)]
    name = said.name.strip() or said.edge
    pieces = named(pieces, {f"{piece.name}:{said.edge}": name} if name != said.edge else {})
    if said.fold:
        pieces = folded(pieces, [f"{piece.name}:{name}"])
    elif said.allowance.strip():
        typed = length(said.allowance, what="seam allowance", minimum_mm=0.0, bare=session.state.unit)
        text = "" if typed.unit == "mm" else str(typed)
        pieces = tuple(
            p.with_(
                edges=tuple(
                    replace(e, allowance_mm=typed.mm, allowance_text=text) if e.name == name else e for e in p.edges
                )
            )
            if p.name == piece.name
            else p
            for p in pieces
        )
    return journey.keep_pieces(session.folder, project, pieces)[0], f"{name} of {piece.name}"


def _index(pieces: Any, name: str) -> int:
    for k, piece in enumerate(pieces):
        if piece.name == name:
            return k
    raise InputError("piece", expected="one of the pattern pieces", got=repr(name), next_step="Choose it again")


def _split(project: Project) -> Split | None:
    """The picture in mm; None while no length is known, since then no size can be compared."""
    try:
        return journey.split_of(project)
    except MockupError:
        return None
