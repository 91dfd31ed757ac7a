"""What the board of the lay asks for: what lies, the remnants' own pictures, and the plan to print."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from mockup.checks.in_unit import in_unit
from mockup.journey.stash_designs import pictures_of
from mockup.lay.lay import Lay
from mockup.sheets.lay_plan import lay_pdf
from swatches.errors import MockupError
from swatches.photo import jpeg_bytes
from ui.parts.session import WORD, Sessions
from ui.parts.words import sentence
from ui.questions.lay_paint import painted
from ui.questions.lay_state import MOVES, board_of, board_scene, fabric_of, laid_of, lays_of

if TYPE_CHECKING:
    from fastapi import FastAPI

_PICTURE = re.compile(r"([0-9a-f]{16})-(\d{1,3})\.jpg")
_PLAN = re.compile(r"([0-9a-f]{16})\.pdf")


def serve_lay(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``/lay/<word>/…``."""
    from fastapi.responses import JSONResponse, PlainTextResponse, Response

    nothing = "There is nothing here."

    @app.get("/lay/{word}/{name}")
    def lay(word: str, name: str) -> Response:
        if not WORD.fullmatch(word):
            return PlainTextResponse(nothing, 404)
        with sessions.open(word) as session:
            try:
                if name == "lay.json":
                    shown = _in_unit(board_scene(session), session.state.unit) | {
                        "painted": painted(session),
                        "moves": {client: edit for (client, what), edit in session.edits.items() if what == MOVES},
                        "said": "",
                    }
                    return JSONResponse(shown, headers={"cache-control": "no-store"})
                board = board_of(session)
                found = _PICTURE.fullmatch(name) or _PLAN.fullmatch(name)
                fabric = fabric_of(board, found.group(1)) if board is not None and found is not None else None
                if board is None or found is None or fabric is None:
                    return PlainTextResponse(nothing, 404)
                known = board.project.fabric(fabric)
                pictures = pictures_of(known, session.folder)
                if name.endswith(".jpg"):
                    scraps = board.scraps[fabric]
                    index = int(found.group(2))
                    picture = pictures.get(scraps[index].name) if index < len(scraps) else None
                    if picture is None:
                        return PlainTextResponse(nothing, 404)
                    headers = {"cache-control": "private, max-age=600"}
                    return Response(jpeg_bytes(picture.rgb, quality=85), media_type="image/jpeg", headers=headers)
                lays: dict[str, Lay] = lays_of(board, laid_of(session))
                if fabric not in lays:
                    return PlainTextResponse(nothing, 404)
                title = f"{board.project.name or 'Garment'}, choice {board.letter}: {known.name}"
                used = {p.remnant for p in lays[fabric].placements}
                cloth = [s for s in board.scraps[fabric] if s.name in used]
                unit = session.state.unit
                printed = lay_pdf(lays[fabric], board.pieces[fabric], cloth, title=title, pictures=pictures, unit=unit)
                headers = {"content-disposition": 'attachment; filename="lay-plan.pdf"', "cache-control": "no-store"}
                return Response(printed, media_type="application/pdf", headers=headers)
            except MockupError as error:
                return JSONResponse(
                    {"cloths": [], "warnings": [], "said": sentence(error)}, headers={"cache-control": "no-store"}
                )


def _in_unit(shown: dict[str, Any], unit: str) -> dict[str, Any]:
    """What is said of each cloth's lay, with its lengths in the person's unit."""
    cloths = [
        {**c, "said": in_unit(c["said"], unit), "found": [in_unit(t, unit) for t in c["found"]]}
        for c in shown["cloths"]
    ]
    return {**shown, "cloths": cloths}
