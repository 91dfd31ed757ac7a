"""The scene: everything the page shows of a session, as one JSON object for the scripts in ``ui/static``.

Pictures go by address, never inside the scene. Points are picture px, y down. What a person typed goes along as plain
text, and the scripts only ever set it as text.
"""

from __future__ import annotations

from collections.abc import Set
from pathlib import Path
from typing import Any

from mockup.colourways.colour_vision import Sight, picture_as_seen, sight_words
from mockup.colourways.colourway import Colourway
from mockup.journey.sewn_in import with_darts
from mockup.project import Project
from mockup.stylelines.panels import Panel
from swatches import photo
from swatches.fabric import Fabric, Kind
from ui.parts import pictures, words
from ui.parts.asked import asked_scene
from ui.parts.judged import answer_of, judged_scene
from ui.parts.known_panels import digest, panels_of
from ui.parts.line_ideas import ideas_scene
from ui.parts.line_scene import details_scene, lines_scene
from ui.parts.marks import marks_scene
from ui.parts.said import Said
from ui.parts.session import Session
from ui.parts.view_scene import FABRICS, view_scene


def scene(session: Session, *, edit: int = 0, said: Said | None = None) -> dict[str, Any]:
    """Describe a session.

    Args:
        session: the session, its lock held.
        edit: number of the window's edit that this answers.
        said: a sentence to show.
    """
    project = session.project
    step = session.step
    state = session.state
    found: dict[str, Any] = {
        "revision": step.number if step else 0,
        "edit": edit,
        "word": session.word,
        "unit": state.unit,
        "sight": session.settings.sight,
        "sight_words": "" if session.settings.sight == Sight.USUAL else sight_words(session.settings.sight),
        "choice": state.choice,
        "can_undo": state.at >= 0,
        "can_redo": state.at + 1 < len(state.steps),
        "undo_label": step.label if step else "",
        "said": {"place": said.place, "text": said.text, "kind": said.kind, "view": said.view, "point": said.point}
        if said
        else None,
        "in_hand": said.in_hand if said else "",
        "busy": None,
        "allowance": state.allowance,
        "width": state.width,
        "made": [],
        **judged_scene(session),
    }
    found["asked"] = asked_scene(session)
    if project is None:
        return found | {
            "views": [],
            "lines": [],
            "marks": [],
            "details": [],
            "ideas": [],
            "cloths": [],
            "choices": [],
            "name": "",
            "answers": _answers(None, {}, state),
        }
    panels = panels_of(project)
    colourway = _colourway_of(project, state.choice)
    there = {p.id for each in panels.values() for p in each}
    names = {f.id: f.name for f in project.fabrics}
    sewing = "being looked at" if found["facts_pending"] else answer_of(found["facts"])
    return found | {
        "name": project.name,
        "views": [view_scene(session, project, colourway, v, panels.get(v.name, ()), names) for v in project.views],
        "lines": lines_scene(project, state),
        "marks": marks_scene(with_darts(project, session.folder), state),
        "details": details_scene(with_darts(project, session.folder)),
        "ideas": ideas_scene(session),
        "cloths": [_cloth_scene(session, f, colourway, there) for f in project.fabrics],
        "choices": [{"letter": c.letter, "name": c.name} for c in project.colourways],
        "answers": _answers(project, panels, state) | {"sew": sewing, "print": _print_answer(session)},
        "made": [_made(session.word, name) for name in state.made] if session.made_holds else [],
    }


def _made(word: str, name: str) -> dict[str, str]:
    return {"name": name, "href": f"/made/{word}/{name}", "about": words.made_label(name)}


def _colourway_of(project: Project, letter: str) -> Colourway:
    return next((c for c in project.colourways if c.letter == letter), Colourway(letter))


def _cloth_scene(session: Session, fabric: Fabric, colourway: Colourway, there: Set[str]) -> dict[str, Any]:
    sight = session.settings.sight
    seen = [sight.encode()] if sight != Sight.USUAL else []
    key = digest(session.folder.name.encode(), FABRICS.dump_json((fabric,)), *seen)
    folder = session.folder
    return {
        "id": fabric.id,
        "name": fabric.name,
        "word": "" if fabric.name.casefold() == fabric.colour.word.casefold() else fabric.colour.word,
        "panels": sum(f == fabric.id and panel in there for panel, f in colourway.fabrics.items()),
        "error": round(fabric.colour.expected_delta_e, 1),
        **_tile_scene(session, fabric, key),
        "scaled": fabric.texture is None or fabric.texture.scale_error_percent is not None,
        "swatch": session.to_paint(
            f"cloth-{key.hex()[:24]}.png", lambda target: _save_swatch(target, fabric, folder, sight)
        ),
    }


def _tile_scene(session: Session, fabric: Fabric, key: bytes) -> dict[str, Any]:
    """A printed cloth's tile, to be shown while a print is moved, and its scale; plain cloth has nothing to move."""
    texture = fabric.texture
    if texture is None or not texture.file or fabric.kind is Kind.SOLID:
        return {"printed": False}
    folder = session.folder
    name = f"cloth-{digest(key, b'tile').hex()[:24]}.png"
    return {
        "printed": True,
        "tile": session.to_paint(name, lambda target: pictures.save_tile(target, fabric, folder)),
        "tile_mm_per_px": texture.mm_per_px,
    }


def _save_swatch(target: Path, fabric: Fabric, folder: Path, sight: str) -> None:
    pictures.save_swatch(target, fabric, folder)
    if sight != Sight.USUAL:
        photo.write_png(target, picture_as_seen(photo.read_photo(target).rgb8, sight))


def _answers(project: Project | None, panels: dict[str, tuple[Panel, ...]], state: Any) -> dict[str, str]:
    """What each question's answer is now, in a few words."""
    if project is None:
        return {"garment": "none yet", "cloth": "none yet", "lines": "none yet", "sew": "", "print": ""}
    sides = [words.VIEWS.get(v.side, v.side).lower() if v.kind == "drawing" else "photo" for v in project.views]
    colourway = _colourway_of(project, state.choice)
    drawings = [v for v in project.views if v.kind == "drawing"] or list(project.views)
    drawn = {p.id for v in drawings for p in panels.get(v.name, ())}
    bare = len([i for i in drawn if i not in colourway.fabrics])
    cloth = words.counted(len(project.fabrics), "cloth", "cloths") + " on the shelf"
    if drawn:
        cloth += f", {words.counted(bare, 'panel')} without" if bare else ", every panel has one"
    return {
        "garment": f"{project.name or 'A garment'}: {', '.join(dict.fromkeys(sides))}",
        "cloth": cloth,
        "lines": f"{words.counted(len(project.lines), 'line')}, {words.counted(len(drawn), 'panel')}",
        "sew": "",
        "print": "",
    }


def _print_answer(session: Session) -> str:
    """How many files are ready, and whether something was changed since that leaves the pieces as they are."""
    state = session.state
    if not session.made_holds:
        return "nothing cut yet"
    ready = words.counted(len([m for m in state.made if m != "pieces.json"]), "file") + " ready"
    return ready if session.step and session.step.number == state.made_for else f"{ready}, made before your last change"
