"""Panels that follow each other are one group; groups meet at seams."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from mockup.checks.scene import Scene, Seam
from mockup.stylelines.panels import Panel, polygon
from swatches.errors import InputError


@dataclass(frozen=True, slots=True)
class Group:
    """Panels that are always given the same cloth.

    Attributes:
        id: id of its first panel.
        words: the person's words for it, 'front yoke and back yoke'.
        panels: their ids.
        share: of the visible cloth of the whole garment, 0 to 1.
        given: the fabric that it keeps, or empty: it is open.
    """

    id: str
    words: str
    panels: tuple[str, ...]
    share: float
    given: str = ""


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two groups that are sewn to each other.

    Attributes:
        a: index of a group.
        b: index of another, larger.
        seams: the seams between them, turned so that ``Seam.a`` belongs to group ``a``.
        drawn: whether a style line runs between them, which was drawn in order to show.
    """

    a: int
    b: int
    seams: tuple[Seam, ...]
    drawn: bool


def groups_of(
    scene: Scene,
    *,
    pairs: Sequence[Sequence[str]] = (),
    keep: Mapping[str, str] | None = None,
    leave: Collection[str] = (),
) -> tuple[Group, ...]:
    """Put panels together that follow each other: twins always, others where they are paired.

    Args:
        scene: the garment.
        pairs: lists of panels that follow each other.
        keep: panel id → fabric that it keeps.
        leave: panels that are left as they are, without cloth; the whole group is left out.

    Returns:
        Groups in the order of their first panels' numbers.

    Raises:
        InputError: no such panel or fabric, or panels that follow each other keep different cloth.
    """
    keep = keep or {}
    _known(scene, [*keep, *leave, *(p for pair in pairs for p in pair)])
    fabrics = {f.id for f in scene.project.fabrics}
    for fabric in keep.values():
        if fabric not in fabrics:
            raise InputError(
                "cloth to keep", expected="a cloth of the project", got=repr(fabric), next_step="Add the cloth first"
            )
    head = {panel: panel for panel in scene.panels}

    def find(panel: str) -> str:
        while head[panel] != panel:
            panel = head[panel]
        return panel

    twins = [(p.id, p.twin) for p in scene.panels.values() if p.twin in scene.panels]
    for first, *rest in [*twins, *pairs]:
        for other in rest:
            if other is not None:
                head[find(other)] = find(first)
    together: dict[str, list[Panel]] = {}
    for panel in sorted(scene.panels.values(), key=lambda p: (p.number, p.id)):
        together.setdefault(find(panel.id), []).append(panel)
    groups = []
    for panels in together.values():
        if any(p.id in leave for p in panels):
            continue
        given = {keep[p.id] for p in panels if p.id in keep}
        if len(given) > 1:
            raise InputError(
                f"panels {', '.join(p.id for p in panels)}",
                expected="one cloth, since they follow each other",
                got=" and ".join(sorted(given)),
                next_step="Keep the same cloth for all of them, or do not pair them",
            )
        words = " and ".join(dict.fromkeys(p.name for p in panels))
        share = sum(p.share for p in panels)
        groups.append(Group(panels[0].id, words, tuple(p.id for p in panels), share, next(iter(given), "")))
    return tuple(groups)


def front_with_back(scene: Scene) -> tuple[tuple[str, str], ...]:
    """Pairs of body panels that are called the same on front and back: 'front yoke' and 'back yoke'."""
    found: dict[str, dict[str, list[str]]] = {"front": {}, "back": {}}
    side_of = {v.name: v.side for v in scene.views}
    for panel in scene.panels.values():
        if panel.part == "body" and panel.twin is None:
            name = re.sub(r"\b(front|back)\b", "", panel.name).strip()
            found[side_of[panel.view]].setdefault(name, []).append(panel.id)
    return tuple(
        (ids[0], found["back"][name][0])
        for name, ids in found["front"].items()
        if len(ids) == 1 and len(found["back"].get(name, ())) == 1
    )


def meetings_of(scene: Scene, groups: Sequence[Group]) -> tuple[Meeting, ...]:
    """Seams between groups; seams inside a group, and to panels that are left as they are, do not count."""
    where = {panel: k for k, group in enumerate(groups) for panel in group.panels}
    found: dict[tuple[int, int], list[Seam]] = {}
    for seam in scene.seams:
        a, b = where.get(seam.a), where.get(seam.b)
        if a is None or b is None or a == b:
            continue
        if a > b:
            seam = Seam(seam.b, seam.a, seam.length_mm, seam.upright, seam.upper, seam.view, seam.point)
        found.setdefault((min(a, b), max(a, b)), []).append(seam)
    return tuple(Meeting(a, b, tuple(s), any(_drawn(scene, x) for x in s)) for (a, b), s in sorted(found.items()))


def seen_areas(scene: Scene, groups: Sequence[Group]) -> tuple[float, ...] | None:
    """Cloth that each group takes, mm², judged by the pictures: what is seen, and allowances round each panel.

    None while the scale is a guess. A piece's hidden parts (a facing's far side, pleats) are not seen: where pattern
    pieces are known, their areas are better.
    """
    if not all(v.scale_measured for v in scene.views):
        return None
    scale = {v.name: v.mm_per_px for v in scene.views}
    shapes = {p.id: polygon(p.outline, p.holes) for p in scene.panels.values()}
    panel = max(scene.panels.values(), key=lambda p: p.share if p.part == "body" else 0.0)
    whole = shapes[panel.id].area * scale[panel.view] ** 2 / panel.share
    found = []
    for group in groups:
        round_it = sum(shapes[p].length * scale[scene.panels[p].view] for p in group.panels)
        found.append(float(group.share * whole + round_it * scene.allowance_mm))
    return tuple(found)


def _drawn(scene: Scene, seam: Seam) -> bool:
    """Whether a seam is a style line: two body panels of one side meet nowhere else."""
    a, b = scene.panels[seam.a], scene.panels[seam.b]
    return a.part == b.part == "body" and a.view == b.view


def _known(scene: Scene, panels: Sequence[str]) -> None:
    for panel in panels:
        if panel not in scene.panels:
            listed = ", ".join(list(scene.panels)[:12])
            raise InputError(
                "panel",
                expected=f"one of {listed}",
                got=repr(panel),
                next_step="Look at what there is with: mockup panels PROJECT",
            )
