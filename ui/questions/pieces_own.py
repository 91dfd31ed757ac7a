"""The person's own pattern pieces: a file laid by."""

from __future__ import annotations

from typing import Any

from mockup import journey
from mockup.files.svg import read_pieces
from swatches.job import Job
from ui.parts.desk import Desk, uploaded
from ui.parts.scene import Said
from ui.parts.session import Session
from ui.parts.words import counted


def build(desk: Desk) -> None:
    """Lay out what adds pieces, and wire it."""
    import gradio as gr

    pieces = gr.UploadButton("Add your pattern pieces (SVG)", file_types=[".svg"], elem_id="add-pieces")
    desk.slow(pieces.upload, "print", "Reading the pieces", _read, _keep_pieces, pieces)


def _read(session: Session, job: Job, path: Any) -> Any:
    data = uploaded(path, "pattern pieces")
    read_pieces(data)
    return data


def _keep_pieces(session: Session, data: bytes) -> Said | None:
    project, pieces = journey.put_pieces(session.folder, session.need(), data)
    session.keep(project, "pattern pieces")
    return Said("print", f"{counted(len(pieces), 'pattern piece')} laid by: {', '.join(p.name for p in pieces[:8])}.")
