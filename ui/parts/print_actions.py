"""The print on a panel, and a photo's light, as the page says them; each change a step that can be undone."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from mockup.colourways.colourway import Colourway
from mockup.journey.painting import read_light
from mockup.journey.prints import FARTHEST_MM, lay_as_usual, lay_print
from mockup.stylelines.panels import Panel
from swatches.errors import InputError
from ui.parts.known_panels import panels_of
from ui.parts.said import Said
from ui.parts.session import Session

T = TypeVar("T", bound=BaseModel)


class PrintSaid(BaseModel):
    """What the page says of a print: moved by mm right and up, turned, mirrored; ``usual`` forgets all of it."""

    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)

    panel: str = Field(max_length=60)
    by: tuple[float, float] | None = None
    grain: float | None = Field(default=None, ge=-360, le=360)
    mirrored: bool | None = None
    twin: bool = False
    usual: bool = False


def lay(session: Session, message: dict[str, Any]) -> Said | None:
    """Lay a print as the page says.

    Raises:
        InputError: the message is none, or the print would go too far.
    """
    said = _read(PrintSaid, message, "place of the print", f"plain numbers, at most {FARTHEST_MM / 1000:g} m")
    project, letter = session.need(), session.state.choice
    known = {p.id: p for found in panels_of(project).values() for p in found}
    choice = next((c for c in project.colourways if c.letter == letter), Colourway(letter))
    if said.panel not in known or said.panel not in choice.fabrics:
        return Said("table", "That panel has no cloth any more.", "error")
    panel = known[said.panel]
    name = panel.name or f"panel {panel.number}"
    if said.usual:
        session.keep(lay_as_usual(project, letter, panel.id), f"print on {name} as at first")
        return None
    new = lay_print(
        project, letter, panel.id, by_mm=said.by, grain_deg=said.grain, mirrored=said.mirrored, twin=said.twin
    )
    done = "moved" if said.by is not None else "turned" if said.grain is not None else "mirrored"
    session.keep(new, f"print {done} on {name}")
    return None


def laid_scene(panel: Panel, colourway: Colourway) -> dict[str, Any]:
    """How the print lies on a panel, for the scene; ``own``: whether a person laid it."""
    laid = colourway.laid_on(panel.id, panel.side)
    return {
        "right": laid.offset_mm[0],
        "up": laid.offset_mm[1],
        "grain": laid.grain_seen_deg,
        "mirrored": laid.mirrored,
        "own": panel.id in colourway.laid,
    }


def _read(model: type[T], message: dict[str, Any], what: str, expected: str) -> T:
    try:
        return model.model_validate(message)
    except ValidationError as error:
        raise InputError(
            what,
            expected=expected,
            got=str(error.errors(include_url=False, include_input=False)[0]["msg"]),
            next_step="Try again",
        ) from error


class LightSaid(BaseModel):
    """What the page says of a photo's light; None: as usual."""

    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)

    view: str = Field(max_length=60)
    flare: float | None = Field(default=None, ge=0, le=1)
    printed: bool | None = None


def light(session: Session, message: dict[str, Any]) -> Said | None:
    """Read the light on a photo's garment as the page says.

    Raises:
        InputError: the message is none, or there is no such photo.
    """
    said = _read(LightSaid, message, "light of the photo", "a share from 0 to 100 %")
    new = read_light(session.need(), said.view, flare=said.flare, printed=said.printed)
    session.keep(new, "the light of the photo")
    if said.printed:
        return Said(
            "table",
            "Its light is worked out colour by colour now: traces of the print may show, and fine folds may be lost. "
            "A photo of a plain garment works better.",
        )
    return None


DOES = {"print": lay, "light": light}
