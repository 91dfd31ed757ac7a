"""The results of a poll as a chart, with its text alternative: counts, and what they could be of a random sample."""

from __future__ import annotations

from collections.abc import Mapping

from mockup.files.given import clean
from mockup.polls.count import Count
from mockup.sheets.compare import HAIR, INK, PAPER, SOFT, WHITE
from mockup.sheets.raster_pen import RGB, Colour, RasterPen, fitted, wrapped

BAR: Colour = (126, 30, 60)
WHISKER: Colour = (26, 30, 40)
_ROW, _HEAD, _FOOT, _MARGIN = 92, 120, 96, 48


def votes_chart(result: Count, *, title: str, names: Mapping[str, str] | None = None, width_px: int = 1080) -> RGB:
    """Draw the counts as bars, the most first; a thin line shows the interval of each share.

    Args:
        result: the count.
        title: the question.
        names: letter → the person's word for the choice.
        width_px: width, 500 or more.

    Returns:
        uint8 (h, w, 3) sRGB. The same count gives the same pixels.
    """
    width = max(width_px, 500)
    note = wrapped(NOTE, width - 2 * _MARGIN, 22)
    pen = RasterPen(width, _HEAD + _ROW * len(result.choices) + _FOOT + 28 * len(note), PAPER)
    pen.words(fitted(clean(title), width - 2 * _MARGIN, 40, bold=True), _MARGIN, 62, 40, INK, bold=True)
    pen.words(votes_words(result.votes), _MARGIN, 98, 26, SOFT)
    left, right = _MARGIN + 76, width - _MARGIN - 150
    for row, k in enumerate(by_votes(result)):
        letter, y = result.choices[k], _HEAD + _ROW * row
        middle = y + 46
        pen.disc(_MARGIN + 26, middle, 26, INK)
        pen.words(letter, _MARGIN + 26, middle, 34, WHITE, bold=True, anchor="mm")
        share = result.counts[k] / result.votes if result.votes else 0.0
        pen.box(left, middle - 15, right, middle + 15, WHITE, HAIR)
        if share:
            pen.box(left, middle - 15, left + (right - left) * share, middle + 15, BAR)
        if result.votes:
            low, high = (left + (right - left) * v for v in result.wilson[k])
            pen.rule(low, middle + 24, high, middle + 24, WHISKER, 3)
            for x in (low, high):
                pen.rule(x, middle + 18, x, middle + 30, WHISKER, 3)
        pen.words(f"{result.counts[k]}", width - _MARGIN - 76, middle, 32, INK, bold=True, anchor="rm")
        pen.words(f"{share:.0%}".replace("%", " %"), width - _MARGIN, middle, 26, SOFT, anchor="rm")
        name = (names or {}).get(letter, "")
        if name:
            pen.words(fitted(clean(name), right - left, 22), left, middle - 22, 22, SOFT)
    for n, line in enumerate(note):
        pen.words(line, _MARGIN, _HEAD + _ROW * len(result.choices) + 52 + 28 * n, 22, SOFT)
    return pen.rgb


NOTE = (
    "The thin lines show where each share could be anywhere between, if these voters were a random sample. "
    "People who choose themselves to vote are not one."
)


def chart_words(result: Count, *, title: str, names: Mapping[str, str] | None = None) -> str:
    """Give the chart's text alternative: all it shows, in sentences."""
    said = []
    for k in by_votes(result):
        letter, name = result.choices[k], clean((names or {}).get(result.choices[k], ""))
        share = result.counts[k] / result.votes if result.votes else 0.0
        low, high = result.wilson[k]
        between = f", could be anywhere from {low:.0%} to {high:.0%}" if result.votes else ""
        said.append(f"{letter}{f', {name}' if name else ''}: {result.counts[k]} ({share:.0%}{between})")
    ends = f" {result.too_close[:1].upper()}{result.too_close[1:]}." if result.too_close else ""
    return f"Bar chart, {clean(title)}: {votes_words(result.votes)}. {'; '.join(said)}.{ends}"


def votes_words(votes: int) -> str:
    """'1 vote', '12 votes', 'no votes yet'."""
    return "no votes yet" if not votes else f"{votes} vote{'' if votes == 1 else 's'}"


def by_votes(result: Count) -> list[int]:
    """Indices of the choices, most first places first, then by letter."""
    return sorted(range(len(result.choices)), key=lambda k: (-result.counts[k], result.choices[k]))
