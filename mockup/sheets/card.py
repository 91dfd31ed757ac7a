"""One choice on one card, for posts and polls: the letter burned in, front and back, and its cloths."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mockup.files.given import clean
from mockup.sheets.compare import INK, PAPER, SOFT, Choice, cloth_chip, common_crop, ground_of, whole_percents
from mockup.sheets.raster_pen import RGB, RasterPen, fitted, resized
from swatches.errors import InputError

SIZES: dict[str, tuple[int, int]] = {"square": (1080, 1080), "tall": (1080, 1350), "story": (1080, 1920)}
"""Picture sizes of common practice (no source), px."""
_MARGIN, _LETTER, _ROW = 60, 62, 64
_MOST_CLOTHS = 5


def cards(choices: Sequence[Choice], *, title: str, size: str = "square", note: str = "") -> dict[str, RGB]:
    """Compose a card for each choice: the same crop, the same light, the same places for all of them.

    Args:
        choices: the choices, with the same views in each.
        title: the question, or the garment's name.
        size: a key of :data:`SIZES`.
        note: small line at the foot.

    Returns:
        Letter → uint8 (h, w, 3) sRGB.

    Raises:
        InputError: no choice, or an unknown size.
    """
    if not choices or size not in SIZES:
        raise InputError(
            "cards",
            expected="a choice, and a size among " + ", ".join(SIZES),
            got=size,
            next_step="Choose one of these",
        )
    crops = {view: common_crop([c.pictures[view] for c in choices]) for view in choices[0].pictures}
    listed = min(_MOST_CLOTHS, max(len(c.fabrics) for c in choices))
    return {c.letter: _card(c, crops, SIZES[size], listed, title, note) for c in choices}


def alt_text(choice: Choice) -> str:
    """Give the text alternative of a card: 'Choice A, First frost: spruce wool-mix 64 %, winter check 19 %'."""
    cloths = sorted(choice.fabrics, key=lambda f: (-f.share, f.name))
    percents = whole_percents([c.share for c in cloths])
    named = ", ".join(f"{clean(c.name)} {percent} %" for c, percent in zip(cloths, percents, strict=True))
    title = f"Choice {choice.letter}" + (f", {clean(choice.name)}" if choice.name else "")
    views = " and ".join(choice.pictures)
    return f"{title}: the garment's {views}" + (f", in {named}" if named else "")


def _card(
    choice: Choice, crops: Mapping[str, tuple[slice, slice]], size: tuple[int, int], listed: int, title: str, note: str
) -> RGB:
    width, height = size
    pen = RasterPen(width, height, PAPER)
    pen.disc(_MARGIN + _LETTER, _MARGIN + _LETTER, _LETTER, INK)
    pen.words(choice.letter, _MARGIN + _LETTER, _MARGIN + _LETTER, 88, (255, 255, 255), bold=True, anchor="mm")
    left, room = _MARGIN + 2 * _LETTER + 32, float(width - 2 * _MARGIN - 2 * _LETTER - 32)
    name = clean(choice.name) or f"Choice {choice.letter}"
    pen.words(fitted(name, room, 58, bold=True), left, _MARGIN + _LETTER + 2, 58, INK, bold=True)
    pen.words(fitted(clean(title), room, 34), left, _MARGIN + _LETTER + 48, 34, SOFT)
    foot = height - _MARGIN - (34 if note else 0)
    if note:
        pen.words(fitted(clean(note, limit=400), width - 2 * _MARGIN, 24), _MARGIN, height - _MARGIN, 24, SOFT)
    top, bottom = _MARGIN + 2 * _LETTER + 40, foot - listed * _ROW - 24
    _pictures(pen, choice, crops, (_MARGIN, top, width - 2 * _MARGIN, bottom - top))
    cloths = sorted(choice.fabrics, key=lambda f: (-f.share, f.name))
    percents = whole_percents([c.share for c in cloths])
    y = float(foot - listed * _ROW)
    for cloth, percent in list(zip(cloths, percents, strict=True))[:_MOST_CLOTHS]:
        pen.picture(cloth_chip(cloth, _ROW - 12), _MARGIN, y)
        middle = y + (_ROW - 12) / 2
        used = pen.words(f"{percent} %", width - _MARGIN, middle, 32, SOFT, anchor="rm")
        room = width - 2 * _MARGIN - _ROW - used - 40
        pen.words(fitted(clean(cloth.name), room, 32), _MARGIN + _ROW + 8, middle, 32, INK, anchor="lm")
        y += _ROW
    return pen.rgb


def _pictures(
    pen: RasterPen, choice: Choice, crops: Mapping[str, tuple[slice, slice]], place: tuple[int, int, int, int]
) -> None:
    """Lay the views on white paper, side by side or below each other, whichever shows them larger."""
    x, y, width, height = place
    pen.box(x, y, x + width - 1, y + height - 1, ground_of(choice.pictures.values()))
    gap = 24
    ratios = {v: (c.stop - c.start) / (r.stop - r.start) for v, (r, c) in crops.items()}
    n = len(ratios)
    beside = min((width - gap * (n + 1)) / sum(ratios.values()), height - 2 * gap)
    below = min((height - gap * (n + 1)) / n, *((width - 2 * gap) / ratio for ratio in ratios.values()))
    each = round(max(beside, below))
    across = sum(ratios.values()) * each + gap * (n - 1)
    left: float = x + (width - across) / 2
    up: float = y + (height - n * each - gap * (n - 1)) / 2
    for view, (rows, columns) in crops.items():
        w = round(ratios[view] * each)
        shown = resized(choice.pictures[view][rows, columns], w, each)
        if beside >= below:
            pen.picture(shown, left, y + (height - each) / 2)
            left += w + gap
        else:
            pen.picture(shown, x + (width - w) / 2, up)
            up += each + gap
