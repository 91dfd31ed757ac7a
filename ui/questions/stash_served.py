"""What the board of designs from one's own cloth asks for: what can be chosen, what was found, and its lays."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mockup import journey
from mockup.checks.in_unit import in_unit
from mockup.journey.cutting import pieces_of
from mockup.journey.stash_designs import pictures_of, stock_in, with_design
from mockup.lay.stock import stock_of
from mockup.project import Project
from mockup.proposals.families import KINDS
from mockup.proposals.from_stash import Design
from mockup.sheets.lay_plan import lay_pdf, lay_svg
from swatches.errors import MockupError
from ui.parts import pictures, words
from ui.parts.known_panels import LINES, VIEW, digest
from ui.parts.lengths import usual_text
from ui.parts.session import WORD, Session, Sessions
from ui.questions.lay_paint import LONG_SIDE, view_title
from ui.questions.lay_state import board_of
from ui.questions.stash_state import Made, cloth_id, design_name, made_of

if TYPE_CHECKING:
    from fastapi import FastAPI

_M2, _YD2 = 1e6, 914.4**2
_LAY = re.compile(r"(\d{1,2})-([0-9a-f]{16})\.(svg|pdf)")
_FAMILIES = {
    "own": ("Your lines, moved", "all together, up from where they are; minus is down"),
    "yoke": ("A level yoke", "down the armhole from the shoulder"),
    "hem band": ("A band along the hem", "its height"),
    "band": ("A level band across", "down the side seam from the underarm"),
}


def serve_stash(app: FastAPI, sessions: Sessions) -> None:
    """Answer ``/stash/<word>/…``."""
    from fastapi.responses import JSONResponse, PlainTextResponse, Response

    @app.get("/stash/{word}/{name}")
    def stash(word: str, name: str) -> Response:
        found = _LAY.fullmatch(name)
        if not WORD.fullmatch(word) or (found is None and name != "stash.json"):
            return PlainTextResponse("There is nothing here.", 404)
        with sessions.open(word) as session:
            if found is None:
                return JSONResponse(_shown(session), headers={"cache-control": "no-store"})
            drawn = _lay_drawn(session, int(found[1]), found[2], found[3])
        if drawn is None:
            return PlainTextResponse("There is nothing here.", 404)
        kind = {"svg": "image/svg+xml", "pdf": "application/pdf"}[found[3]]
        headers = {"cache-control": "no-store"}
        if found[3] == "pdf":
            headers["content-disposition"] = 'attachment; filename="lay-plan.pdf"'
        return Response(drawn, media_type=kind, headers=headers)


def _shown(session: Session) -> dict[str, Any]:
    project = session.project
    if project is None:
        return {"ready": False, "first": ""}
    first = _first(project)
    if first:
        return {"ready": False, "first": first}
    made, unit = made_of(session), session.state.unit
    return {
        "ready": True,
        "families": [_family(project, kind, unit) for kind in KINDS if kind != "own" or project.lines],
        "cloths": _cloths(project, unit),
        "lines": _lines(project),
        "pieces": _pieces(session),
        "sizes": len({p.size for p in pieces_of(project, session.folder) if p.size}) > 1,
        "answers": {k: _answer(a, unit) for k, a in made.answers.items()},
        "searched": in_unit(made.said, unit),
        "figures": made.figures,
        "designs": [_design(session, project, made, k, d, unit) for k, d in enumerate(made.designs)],
    }


def _family(project: Project, kind: str, unit: str) -> dict[str, Any]:
    name, about = _FAMILIES[kind]
    positions = KINDS[kind][0](project).positions_mm
    low, high = (_signed(x, unit) for x in (min(positions), max(positions)))
    return {"kind": kind, "name": name, "about": about, "low": low, "high": high}


def _signed(mm: float, unit: str) -> str:
    return f"{'−' if mm < 0 else ''}{usual_text(abs(mm), unit)}"


def _first(project: Project) -> str:
    """What has to be there before cloth can be looked through; empty where it is."""
    wanted = [] if project.pieces else ["add your pattern pieces above"]
    if not all(v.scale_measured for v in project.views if v.kind == "drawing"):
        wanted.append("type one length of the garment that you measured")
    return f"To see what your cloth is enough for, first {', and '.join(wanted)}." if wanted else ""


def _cloths(project: Project, unit: str) -> list[dict[str, Any]]:
    """Every owned cloth with what there is of it; one without any tells why it is not offered."""
    rows = []
    for fabric, stock in stock_in(project).items():
        scraps = []
        for s in stock.scraps:
            xs, ys = [p[0] for p in s.outline], [p[1] for p in s.outline]
            size = f"{max(xs) - min(xs):.0f} × {max(ys) - min(ys):.0f} mm"
            about = in_unit(size, "in" if unit == "in" else "cm")
            name = "on the roll" if s.name == "roll" else s.name
            scraps.append({"id": cloth_id(fabric, s.name), "name": name, "about": about})
        none = [] if scraps or stock.warnings else ["No remnant, and nothing known of the roll."]
        warnings = [*none, *stock.held, *stock.warnings]
        known = project.fabric(fabric)
        waiting = [r.name for r in known.remnants if r.grain_deg is None]
        rows.append(
            {"id": fabric, "name": known.name, "scraps": scraps, "warnings": warnings, "without_grain": waiting}
        )
    return rows


def _lines(project: Project) -> list[dict[str, str]]:
    """Lines by name, with their continuation on the other side as one."""
    first: dict[str, str] = {}
    for line in project.lines:
        first.setdefault(line.name, line.id)
    return [{"id": i, "name": words.capital(name)} for name, i in first.items()]


def _pieces(session: Session) -> list[str]:
    try:
        board = board_of(session)
    except MockupError:
        return []
    return [] if board is None else list(dict.fromkeys(p.name for p in board.made))


def _answer(answer: Any, unit: str) -> dict[str, Any]:
    return {"text": in_unit(answer.text, unit), "line": answer.line, "moves": list(answer.moves)}


def _design(session: Session, project: Project, made: Made, k: int, design: Design, unit: str) -> dict[str, Any]:
    names = {f.id: f.name for f in project.fabrics}
    rows = []
    for fabric, share in sorted(design.shares.items(), key=lambda row: -row[1]):
        left = _area(design.left_over_mm2.get(fabric, 0.0), unit)
        used = sorted({p.remnant for p in design.fits.lays[fabric].placements})
        safe = cloth_id(fabric, "")
        rows.append(
            {
                "name": names[fabric],
                "share": f"{100 * share:.0f} %",
                "left": left,
                "on": ", ".join("the roll" if r == "roll" else r for r in used),
                "lay": f"/stash/{session.word}/{k}-{safe}.svg",
                "plan": f"/stash/{session.word}/{k}-{safe}.pdf",
            }
        )
    return {
        "index": k,
        "name": in_unit(design_name(design), unit),
        "cloths": rows,
        "pictures": _pictures(session, project, made, design),
    }


def _area(mm2: float, unit: str) -> str:
    """An area in cm² or in², or where it is large in m² or yd²."""
    if mm2 < _M2:
        return words.area(mm2, unit)
    return f"{mm2 / _YD2:.1f} yd²" if unit == "in" else f"{mm2 / _M2:.1f} m²"


def _pictures(session: Session, project: Project, made: Made, design: Design) -> list[dict[str, Any]]:
    """Addresses of the painted views, with just the cloth that is cut; painted when the browser asks for them."""
    folder, known = session.folder, dict[str, Any]()
    out = []
    for view in project.views:
        key = digest(
            made.key.encode(), VIEW.dump_json(view), LINES.dump_json(design.lines),
            repr(sorted(design.colourway.fabrics.items())).encode(), repr(design.fits.lays).encode(), b"design",
        )  # fmt: skip

        def paint(target: Path, name: str = view.name) -> None:
            if not known:
                known["shown"], _, known["cloths"] = with_design(project, folder, design, made.allowance_mm)
            letter, cloths = design.colourway.letter, known["cloths"].get(name)
            painted = journey.paint_view(known["shown"], folder, letter, name, long_side=LONG_SIDE, cloths=cloths)
            pictures.save(target, painted)

        out.append(
            {
                "title": view_title(view),
                "photo": view.kind == "photo",
                "href": session.to_paint(f"{view.side}-{key.hex()[:24]}.jpg", paint),
            }
        )
    return out


def _lay_drawn(session: Session, index: int, safe: str, kind: str) -> str | bytes | None:
    made, project = made_of(session), session.project
    if project is None or index >= len(made.designs):
        return None
    design = made.designs[index]
    fabric = next((f for f in design.fits.lays if cloth_id(f, "") == safe), None)
    if fabric is None:
        return None
    _, laid, _ = with_design(project, session.folder, design, made.allowance_mm)
    known, lay = project.fabric(fabric), design.fits.lays[fabric]
    used = {p.remnant for p in lay.placements}
    scraps = [s for s in stock_of(known).scraps if s.name in used]
    unit = session.state.unit
    title = f"{in_unit(design_name(design), unit)}: {known.name}"
    draw = lay_svg if kind == "svg" else lay_pdf
    return draw(lay, laid[fabric], scraps, title=title, pictures=pictures_of(known, session.folder), unit=unit)
