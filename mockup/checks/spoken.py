"""Findings in a sewist's words: no measure of colour science, no handbook's title, no long list of what is not known.

The whole finding, with its figures and sources, is in ``--json``; on the screen stand the sentence, what to do, and, to
unfold, where the limit comes from.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from mockup.checks import limits as table
from mockup.checks.finding import ORDER, Finding, Grade, Place
from mockup.checks.in_unit import in_unit, length_said

_PLAIN_SOURCES: tuple[tuple[str, str], ...] = (
    (table.YOURS, "You set this limit."),
    (table.THREADS_GOOD, "A sewing magazine's advice for comparing seams: 1.6 mm (1/16 in) is good."),
    (table.THREADS_WORKS, "A sewing magazine's advice for comparing seams: up to 3.2 mm (1/8 in) works for many."),
    (table.UNDERARM, "It is what every set-in sleeve has at its underarm."),
    ("WCAG", "A published rule for what people with weak sight can tell apart on a screen."),
    ("ISO 3758", "The international rule for care labels: a mix bears only what its most delicate cloth bears."),
    ("16 CFR 423.6", "A rule for care labels: such a garment would say 'do not wash, do not dry-clean'."),
    ("CPSC", "Safety rules for children's clothing; which ones hold depends on where you live."),
    ("16 CFR 303", "Labelling rules; which ones hold depends on where you sell."),
    ("Cooklin", "Makers lose 10 to 20 % of the cloth between the pieces; a published figure."),
    (table.PRACTICE, "Common practice among sewists; nobody has published a limit."),
    ("the lay that was found", "The pieces were laid on the cloth, as they would be cut."),
    ("derived", "Plain arithmetic."),
    (table.OWN, "Our own choice: nobody has published a limit. You can set your own."),
)
_UNITS = (
    (re.compile(r"(\d) L\*"), r"\1 steps, of 100 from black to white"),
    (re.compile(r"(\d) C\*"), r"\1 steps of strength of colour"),
    (re.compile(r"(\d) ΔE00"), r"\1 steps of colour, of which one can just be seen"),
)
_PLAIN_ADVICE = ((re.compile(r" \([^)]*ISO[^)]*\)"), ""),)
THE_GARMENT = "the garment"
UNFOLD = "Open this line for how to find out."
"""Said where there is more to read, and something to press for it."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """One line for the screen.

    Attributes:
        grade: how serious.
        text: what was found and what to do, in sentences.
        where: the place in words, with a capital.
        origin: where the limit comes from, to unfold.
        place: the place with its point, where there is one.
        more: further sentences to unfold: what to do about each thing that is not known.
    """

    grade: Grade
    text: str
    where: str
    origin: str
    place: Place
    more: tuple[str, ...] = ()


def spoken(findings: Sequence[Finding], unit: str = "mm") -> tuple[Spoken, ...]:
    """Give findings as lines for the screen, the most serious first.

    All that is not known of one cloth is one line.

    Args:
        findings: what the checks say.
        unit: 'mm', 'cm' or 'in': the unit in which lengths are said.
    """
    lines: list[Spoken] = []
    unknown: dict[str, list[Finding]] = {}
    for f in findings:
        if f.grade is Grade.CANNOT_TELL and f.about:
            unknown.setdefault(f.about, []).append(f)
        else:
            lines.append(_line(f, unit))
    lines += [_grouped(about, same) for about, same in unknown.items()]
    return tuple(sorted(lines, key=lambda line: ORDER.index(line.grade)))


def origin_words(finding: Finding) -> str:
    """Where a finding's limit comes from, in plain words, with the limit itself."""
    limit = finding.limit
    for pattern, plain in _UNITS:
        limit = pattern.sub(plain, limit)
    if re.search(r"ISO|CFR|local", limit):
        limit = ""
    return f"Limit: {limit}. {source_words(finding.source)}" if limit else source_words(finding.source)


def source_words(source: str) -> str:
    """A limit's source in plain words; the sources themselves stand in the table of limits and in ``--json``."""
    return next((plain for key, plain in _PLAIN_SOURCES if key in source), _PLAIN_SOURCES[-1][1])


def limit_words(limit: table.Limit) -> str:
    """A limit's value with its unit, in plain words."""
    said = str(limit)
    for pattern, plain in _UNITS:
        said = pattern.sub(plain, said)
    return said


def _line(f: Finding, unit: str) -> Spoken:
    said = (f.plain or f.figure).rstrip(".")
    text = in_unit(f"{_capital(said)}. {_plain(_better_said(f, unit))}", unit)
    return Spoken(f.grade, text, _capital(f.place.words), in_unit(origin_words(f), unit), f.place)


def _better_said(f: Finding, unit: str) -> str:
    """The advice with its better distance in another unit, rounded away from the place where seams meet."""
    if unit not in ("cm", "in") or f.better_mm is None:
        return f.advice
    better = f"{f.better_mm:g} mm from the "
    junction = f.figure.partition("from the ")[2].partition(",")[0]
    way = 1 if f"{better}{junction}." in f.advice else -1
    return f.advice.replace(better, f"{length_said(f.better_mm, unit, way)} from the ")


def _grouped(about: str, same: Sequence[Finding]) -> Spoken:
    missing = list(dict.fromkeys(f.missing for f in same))
    many = len(missing) > 1
    text = f"{_capital(about)}: {_listed(missing)} {'are' if many else 'is'} not known, so nobody can tell yet. "
    advice = list(dict.fromkeys(f"{_capital(f.missing)}: {_plain(f.advice)}" for f in same))
    more = advice if many else []
    text += UNFOLD if many else _plain(same[0].advice)
    place = Place(f"all panels of {about}") if about != THE_GARMENT else Place("the whole garment")
    return Spoken(Grade.CANNOT_TELL, text, _capital(place.words), "", place, tuple(more))


def _plain(advice: str) -> str:
    for pattern, instead in _PLAIN_ADVICE:
        advice = pattern.sub(instead, advice)
    return advice


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
