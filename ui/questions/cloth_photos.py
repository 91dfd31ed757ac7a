"""Photos of cloth on the page: several at once are read, what cannot be measured is still shown, and read again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from mockup import journey
from mockup.journey.cloths import ClothRead, put_reading, read_cloth
from mockup.project import Project
from swatches.errors import Cancelled, Failure, InputError, MockupError, PictureError
from swatches.fabric import Fabric
from swatches.find_cards import find_cards
from swatches.find_sheet import find_markers
from swatches.job import Job, Part, check
from swatches.kept import Asked, kept_photo
from swatches.photo import Photo, read_photo
from swatches.reference import SHEET_IDS
from ui.parts.desk import named, uploaded
from ui.parts.known_panels import panels_of
from ui.parts.said import Said
from ui.parts.session import Session
from ui.parts.words import capital, sentence
from ui.questions.cloth_close import asked_from
from ui.questions.cloth_does import kept_of

LOOK_FOR_IT = "auto"
REFERENCES = [
    ("Look for the printed sheet or cards", LOOK_FOR_IT),
    ("The printed sheet", "sheet"),
    ("Loose cards with markers", "cards"),
    ("A plain sheet of A4", "a4"),
    ("A plain sheet of Letter", "letter"),
    ("A bank card", "card"),
    ("A colour chart of 24 patches", "chart"),
    ("Nothing to measure by", "none"),
]
MOST_PHOTOS = 24


@dataclass(frozen=True, slots=True)
class _Lot:
    """What several photos gave: cloths, and a sentence for each photo that gave none, or less than was asked."""

    reads: tuple[ClothRead, ...]
    troubles: tuple[str, ...]


def read_photos(session: Session, job: Job, paths: Any, reference: str) -> _Lot:
    """Read one photo or several that were uploaded; one that cannot be read does not stop the others."""
    if reference not in {value for _, value in REFERENCES}:
        raise InputError("reference", expected="one of those offered", got=reference, next_step="Choose one of them")
    many = paths if isinstance(paths, list) else [paths]
    if len(many) > MOST_PHOTOS:
        raise InputError("photos", expected=f"at most {MOST_PHOTOS} at once", got=str(len(many)), next_step="Add fewer")
    names = [named(p, "photo of the cloth") for p in many]
    pictures = [uploaded(p, name) for p, name in zip(many, names, strict=True)]
    reads: list[ClothRead] = []
    troubles: list[str] = []
    for k, data in enumerate(pictures):
        check(job)
        part = Part(job, k / len(pictures), (k + 1) / len(pictures))
        of = f"Photo {k + 1} of {len(pictures)}: " if len(pictures) > 1 else ""
        part.step(f"{of}opening it", 0.02)
        try:
            read, trouble = _read_one(read_photo(data, what=names[k]), reference, _Named(part, of))
            reads.append(read)
            troubles += [trouble] if trouble else []
        except Cancelled:
            raise
        except MockupError as error:
            troubles.append(sentence(error))
    return _Lot(tuple(reads), tuple(troubles))


class _Named:
    """A job that says which of several photos it is about."""

    def __init__(self, job: Job, of: str) -> None:
        self._job, self._of = job, of

    @property
    def cancelled(self) -> bool:
        """Whether the person asked to stop."""
        return self._job.cancelled

    def step(self, text: str, done: float | None = None) -> None:
        """Pass the step on with the photo's number."""
        self._job.step(f"{self._of}{text.lower()}" if self._of else text, done)


def _read_one(photo: Photo, reference: str, job: Job) -> tuple[ClothRead, str]:
    """Read one photo; where its reference cannot be found, read it without one and say so, so that it can be mended."""
    wanted = _looked_for(photo) if reference == LOOK_FOR_IT else reference
    try:
        return read_cloth(photo, Asked(wanted), job=job), ""
    except PictureError as error:
        if wanted == "none":
            raise
        read = read_cloth(photo, Asked("none"), job=job)
        name = capital(read.reading.fabric.name)
        return read, f"{name}: {sentence(error)} It is on the shelf without a scale; open it to mend that."


def _looked_for(photo: Photo) -> str:
    """What can be seen in the photo to measure by: the printed sheet, loose cards, or nothing."""
    wanted = [i for ids in SHEET_IDS.values() for i in ids]
    if find_markers(photo.rgb8, wanted):
        return "sheet"
    return "none" if isinstance(find_cards(photo, None), Failure) else "cards"


def keep_photos(session: Session, lot: _Lot) -> Said | None:
    """Put what was read on the shelf, as one step."""
    if not lot.reads:
        return Said("cloth", " ".join(lot.troubles), "error")
    project = session.need()
    fabrics = []
    for read in lot.reads:
        project, fabric = journey.put_fabric(session.folder, project, read)
        fabrics.append(fabric)
    return _on_the_shelf(session, project, fabrics, lot.troubles)


def mix(session: Session, job: Job, colour: str, name: str) -> Fabric:
    """Make a cloth of a plain colour."""
    return journey.plain_fabric(hex_of(colour), " ".join(str(name or "").split())[:60])


def keep_colour(session: Session, found: Fabric) -> Said | None:
    """Put a plain colour on the shelf."""
    project, fabric = journey.put_fabric(session.folder, session.need(), found)
    return _on_the_shelf(session, project, [fabric], ())


def _on_the_shelf(session: Session, project: Project, fabrics: list[Fabric], troubles: tuple[str, ...]) -> Said:
    last = fabrics[-1]
    shown = panels_of(project)
    panels = {p.id for members in shown.values() for p in members}
    if len(fabrics) == 1:
        words = [f"{last.name} is on the shelf and in your hand.", *(troubles or last.warnings)]
    else:
        words = [f"{len(fabrics)} cloths are on the shelf; {last.name} is in your hand.", *troubles]
    if panels and not any(c.fabrics for c in project.colourways):
        project = journey.assign(project, session.state.choice, dict.fromkeys(panels, last.id))
        ready = len(project.fabrics) > 1 and len(panels) > len(shown)
        go_on = "Take another cloth and press a panel" if ready else "Add another cloth, or lines, to go on"
        words[0] = f"The whole garment is {last.name} now. {go_on}."
    session.keep(project, f"{last.name} on the shelf")
    return Said("cloth", " ".join(words), in_hand=last.id)


def read_again(session: Session, job: Job, message: object) -> tuple[str, ClothRead]:
    """Read the photo of a cloth again, as the person corrected it."""
    said = message if isinstance(message, dict) else {}
    with session.lock:
        fabric, kept, folder = *kept_of(session, said), session.folder
        asked = asked_from(said, kept, session.state.unit)
    photo = kept_photo(folder / "fabrics" / fabric.id, kept)
    return fabric.id, read_cloth(photo, asked, job=job)


def keep_again(session: Session, found: tuple[str, ClothRead]) -> Said | None:
    """Put the new reading in the cloth's place; undo brings the older one back."""
    fabric_id, read = found
    project = session.need()
    if all(f.id != fabric_id for f in project.fabrics):
        return Said("cloth", "That cloth is not on the shelf any more.", "error")
    project, fabric = put_reading(session.folder, project, fabric_id, read)
    session.keep(project, f"read {fabric.name} again")
    below = " What to heed stands below its photo." if fabric.warnings else ""
    return Said("cloth", f"{fabric.name} is read again.{below}")


def hex_of(colour: object) -> str:
    """Read what a colour field says, '#7c2f3b' or 'rgba(124, 47, 59, 1)', as '#rrggbb'.

    Raises:
        InputError: it is neither.
    """
    text = str(colour).strip().lower()
    if len(text) == 7 and text[0] == "#" and all(c in "0123456789abcdef" for c in text[1:]):
        return text
    if text.startswith("rgb") and text.endswith(")"):
        parts = text[text.find("(") + 1 : -1].split(",")[:3]
        try:
            return "#" + "".join(f"{min(255, max(0, round(float(p)))):02x}" for p in parts)
        except ValueError:
            pass
    raise InputError("colour", expected="a colour such as #7c2f3b", got=text, next_step="Choose a colour again")
