"""The page's words for edges, places and kinds; the trade's where there is one, else plain (see DEVELOPERS.md)."""

from __future__ import annotations

from fractions import Fraction

from swatches.errors import Failure, InputError, MockupError
from swatches.setting import PhotoRefused
from swatches.units import Length

EDGES = {
    "side": "side seam",
    "armhole": "armhole",
    "shoulder": "shoulder seam",
    "neck": "neck edge",
    "hem": "hem",
    "waist": "waist",
    "centre-front": "centre front",
    "centre-back": "centre back",
}

_FROM = {
    ("side", "underarm"): "below the underarm",
    ("side", "waist"): "below the waist",
    ("side", "hem"): "above the hem",
    ("waist", "waist"): "from the side seam",
    ("waist", "waist-centre"): "from the centre",
    ("armhole", "shoulder"): "below the shoulder",
    ("armhole", "underarm"): "above the underarm",
    ("shoulder", "neck"): "from the neck",
    ("shoulder", "shoulder"): "from the shoulder point",
    ("neck", "neck"): "from the shoulder seam",
    ("neck", "neck-centre"): "from the centre",
    ("hem", "hem"): "from the side seam",
    ("hem", "hem-centre"): "from the centre",
    ("centre-front", "neck"): "below the neck",
    ("centre-back", "neck"): "below the neck",
    ("centre-front", "waist"): "below the waist",
    ("centre-back", "waist"): "below the waist",
    ("centre-front", "hem"): "above the hem",
    ("centre-back", "hem"): "above the hem",
}

VIEWS = {"front": "Front", "back": "Back"}


def edge_label(edge: str) -> str:
    """'side seam' for 'side'; an unknown edge by its own name."""
    return EDGES.get(edge, edge.replace("-", " "))


def from_words(edge: str, landmark: str, *, waisted: bool = False) -> str:
    """What follows the distance: 'below the underarm'; ``waisted``: of a skirt, whose middle begins at the waist."""
    if waisted and landmark == "neck":
        landmark = "waist"
    if landmark in ("start", "end") and edge not in EDGES:
        return f"from its {landmark}"  # of another line
    return _FROM.get((edge, landmark), f"from the {landmark.replace('-', ' ')}")


_MADE = {
    "pieces-a4.pdf": "Pieces on paper, full size, A4",
    "pieces-letter.pdf": "Pieces on paper, full size, Letter",
    "pieces-svg.zip": "Every piece as a drawing (SVG)",
    "pieces.dxf": "All pieces for cutters and pattern programs (DXF)",
    "cutting-list.csv": "Cutting list, as a table",
    "choices.png": "All choices side by side (picture)",
    "split.json": "The lines, as a file",
    "proof.json": "The proof, figure by figure",
}


def made_label(name: str) -> str:
    """What a file to download is, in words."""
    return _MADE.get(name, name)


def capital(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]


def length_text(mm: float, unit: str) -> str:
    """A length in the person's unit, as the scripts say it: whole mm, tenths of a cm, sixteenths of an inch."""
    if unit == "cm":
        return f"{round(mm) / 10:g} cm"
    if unit != "in":
        return f"{mm:.0f} mm"
    return str(Length(Fraction(round(mm / 25.4 * 16), 16), "in"))


def seam(mm: float, unit: str) -> str:
    """A length of seam in whole cm, or inches for who chose them."""
    return f"{mm / 25.4:.0f} in" if unit == "in" else f"{mm / 10:.0f} cm"


def area(mm2: float, unit: str) -> str:
    """An area in cm², or in²."""
    return f"{mm2 / 645.16:.0f} in²" if unit == "in" else f"{mm2 / 100:.0f} cm²"


def counted(n: int, one: str, many: str | None = None) -> str:
    """'1 line', '3 lines', 'no lines'."""
    many = many or f"{one}s"
    return f"{n or 'no'} {one if n == 1 else many}"


def sentence(error: BaseException | Failure) -> str:
    """One calm sentence for what went wrong: what it was, and what the person can do now."""
    if isinstance(error, Failure):
        return f"{error.reason.rstrip('.')}. {error.advice}".strip()
    if isinstance(error, PhotoRefused):
        return str(error)
    if isinstance(error, InputError):
        return f"{capital(error.what)}: this needs {error.expected}{_instead(error)}. {error.next_step}."
    if isinstance(error, MockupError):
        return str(error)
    return "Something went wrong here, and nothing was changed. Try again; if it stays, start the program again."


def _instead(error: InputError) -> str:
    """What was there instead of what is needed, as words that go on after that."""
    got = error.got.rstrip(".").replace("''", "") or "nothing"
    first = got.lower().split()[0]
    if error.got.endswith(".") and got[:1].isupper():  # a sentence of its own
        return f". {got}"
    if first in ("none", "nothing", "no", "neither"):
        return f", but there is {got}"
    if first == "not":
        return f", but it is {got}"
    return f"{',' if ',' in error.expected else ''} instead of {got}"
