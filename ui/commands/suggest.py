"""``mockup suggest`` and ``propose``: cloth for the panels, and where lines could run, good in different ways."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import ALLOWANCE, OUT_FOLDER, PROJECT
from ui.commands.terminal import absolute, forbid, say, terminal_job, whole_folder, with_json

_SMALL_PX = 480


@click.command("suggest")
@click.argument("project", type=PROJECT)
@click.option("--keep", multiple=True, metavar="PANEL=FABRIC", help="A panel that keeps its cloth; repeatable.")
@click.option("--leave", multiple=True, metavar="PANEL", help="A panel that is left as it is; repeatable.")
@click.option(
    "--pair",
    "pairs",
    multiple=True,
    metavar="PANEL,PANEL…",
    help="Panels that follow each other; repeatable. Default: front and back of one name; 'none': only twins.",
)
@click.option("--fabric", "fabrics", multiple=True, help="A cloth that comes into question; repeatable. Default: all.")
@click.option("--fewest", type=click.IntRange(1, 99), default=1, help="Fewest different cloths.")
@click.option("--most", type=click.IntRange(1, 99), default=99, help="Most different cloths.")
@click.option("--count", type=click.IntRange(1, 24), default=8, show_default=True, help="How many choices to show.")
@click.option("--same-across-lines", is_flag=True, help="Allow the same cloth on both sides of a line.")
@click.option("--with-stops", is_flag=True, help="Allow pairs of cloth that a check would stop.")
@click.option("--allowance", type=ALLOWANCE, default="15mm", show_default=True, help="Seam allowance of the lines.")
@click.option("--seed", type=click.IntRange(0), default=0, help="Where not all choices can be looked at.")
@click.option("--out", type=OUT_FOLDER, help="Folder for small painted pictures of the choices.")
@click.option("--take", type=click.IntRange(1, 24), help="Number of a suggestion that becomes a choice of the project.")
@click.option("--choice", default="", help="Letter that --take gives it; default: the next free one.")
@with_json
def suggest(
    project: Path, keep: tuple[str, ...], leave: tuple[str, ...], pairs: tuple[str, ...], fabrics: tuple[str, ...],
    fewest: int, most: int, count: int, same_across_lines: bool, with_stops: bool, allowance: Any, seed: int,
    out: Path | None, take: int | None, choice: str, as_json: bool,
) -> None:  # fmt: skip
    """Suggest which cloth goes where: choices that are good in different ways, each with its reasons."""
    from mockup import journey
    from mockup.files import project_file
    from mockup.journey.suggesting import paint_suggestion
    from mockup.journey.suggesting import suggest as suggested
    from swatches.photo import write_png

    loaded = project_file.load(project)
    letter = _free_letter(loaded, choice) if take is not None else ""
    paired = None if not pairs else [] if pairs == ("none",) else [text.split(",") for text in pairs]
    with terminal_job() as job:
        found = suggested(
            loaded,
            project,
            pairs=paired,
            keep=dict(_pair(text) for text in keep),
            leave=leave,
            fabrics=fabrics or None,
            allowance=allowance,
            lines_show=not same_across_lines,
            with_stops=with_stops,
            cloths=(fewest, most),
            most=count,
            seed=seed,
            job=job,
        )
        files = []
        if out is not None:
            with whole_folder(out) as folder:
                for n, one in enumerate(found.found, 1):
                    job.step(f"Painting choice {n}", n / (len(found.found) + 1))
                    for view, picture in paint_suggestion(loaded, project, one.fabrics, long_side=_SMALL_PX).items():
                        write_png(folder / f"cloth-{n}-{view}.png", picture)
                        files.append(absolute(out / f"cloth-{n}-{view}.png"))
    if take is not None:
        loaded = journey.assign(loaded, letter, _numbered(found.found, take).fabrics)
        loaded = project_file.save(loaded, project)
    rows = [{"number": n, **_figures(one, found.to_buy_unit)} for n, one in enumerate(found.found, 1)]
    answer = {
        "suggestions": rows,
        "possible": found.possible,
        "allowed": found.allowed,
        "looked_at": found.looked_at,
        "share_searched": found.share,
        "exact": found.exact,
        "good_in_different_ways": found.good_in_different_ways,
        "notes": list(found.notes),
        "choice": letter or None,
        "revision": loaded.revision,
        "files": files,
    }
    text = [
        f"{row['number']:>2}  {_cloths(loaded, row['fabrics'])}\n      " + "\n      ".join(_said(row)) for row in rows
    ]
    taken = [f"Suggestion {take} is choice {letter} now."] if take is not None else []
    say(as_json, answer, "\n".join([*(text or ["No choice of cloth passes."]), *found.notes, *taken]))
    if not rows:
        forbid()


@click.command("propose")
@click.argument("project", type=PROJECT)
@click.option("--keep-lines", is_flag=True, help="Add to the lines that are there; else new ones stand in their place.")
@click.option("--allowance", type=ALLOWANCE, default="15mm", show_default=True, help="Seam allowance of the lines.")
@click.option("--count", type=click.IntRange(1, 60), default=12, show_default=True, help="How many designs to show.")
@click.option("--choice", default="", help="Paint in the cloths of this choice; else in any of the project's.")
@click.option("--out", type=OUT_FOLDER, help="Folder for small painted pictures of the designs.")
@click.option("--take", type=click.IntRange(1, 60), help="Number of a design whose lines the project gets.")
@with_json
def propose(
    project: Path, keep_lines: bool, allowance: Any, count: int, choice: str, out: Path | None, take: int | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Propose where lines could run: usual lines at usual proportions that pass the checks, 'no new seam' first."""
    from dataclasses import replace

    from mockup.files import project_file
    from mockup.journey import find, panels_of
    from mockup.journey.inherit import keep_cloth
    from mockup.journey.suggesting import paint_design
    from mockup.journey.suggesting import propose as proposed
    from swatches.photo import write_png

    loaded = project_file.load(project)
    if choice:
        find(loaded, "colourway", choice.upper())  # said before the work, not after it
    files = []
    with terminal_job() as job:
        found = proposed(loaded, keep_lines=keep_lines, allowance=allowance, most=count, job=job)
        if out is not None:
            with whole_folder(out) as folder:
                for n, design in enumerate(found.found, 1):
                    job.step(f"Painting: {design.name}", n / (len(found.found) + 1))
                    painted = paint_design(loaded, project, design, letter=choice.upper(), long_side=_SMALL_PX)
                    for view, picture in painted.items():
                        write_png(folder / f"lines-{n:02d}-{view}.png", picture)
                        files.append(absolute(out / f"lines-{n:02d}-{view}.png"))
    if take is not None:
        drawn = replace(loaded, lines=_numbered(found.found, take).lines)
        drawn = keep_cloth(drawn, panels_of(loaded), panels_of(drawn))
        loaded = project_file.save(drawn, project)
    rows = [{"number": n, **_design(one)} for n, one in enumerate(found.found, 1)]
    out_rows = [{"name": name, "against": against} for name, against in found.left_out.items()]
    text = [
        f"{row['number']:>2}  {row['name']}: {row['reason']} Panels: {_shares(row)} of what is seen. "
        f"Costs {row['seams']} seams, {row['seam_cm']:.0f} cm of seam, {row['cloth_cm2']:.0f} cm² of cloth."
        for row in rows
    ]
    if take is not None:
        text.append(f"The project has the lines of design {take} now; every panel keeps the cloth that lay there.")
    answer = {
        "proposals": rows,
        "tried": found.tried,
        "left_out": out_rows,
        "taken": take,
        "revision": loaded.revision,
        "files": files,
    }
    say(as_json, answer, "\n".join(text))


def _numbered(found: Any, number: int) -> Any:
    from swatches.errors import InputError

    if number > len(found):
        raise InputError(
            "--take", expected=f"a number from 1 to {len(found)}", got=str(number), next_step="Show more with --count"
        )
    return found[number - 1]


def _free_letter(loaded: Any, choice: str) -> str:
    from swatches.errors import InputError

    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    taken = {c.letter for c in loaded.colourways}
    wanted = choice.strip().upper() or next((x for x in letters if x not in taken), "")
    if len(wanted) != 1 or wanted not in letters:
        raise InputError(
            "--choice", expected="one letter, A to Z", got=repr(choice), next_step="Type it like --choice B"
        )
    return wanted


def _design(one: Any) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "name": one.name,
        "reason": one.reason,
        "lines": [_line(line) for line in one.lines if line.id in one.new],
        "panels": [{"id": p.id, "number": p.number, "name": p.name, "share": p.share} for p in one.panels],
        "seams": one.cost.seams,
        "seam_cm": one.cost.seam_cm,
        "cloth_cm2": one.cost.cloth_cm2,
        "moved_mm": one.moved_mm,
        "advice": list(one.advice),
    }


def _line(line: Any) -> dict[str, Any]:
    def end(e: Any) -> dict[str, Any]:
        return {"edge": e.edge, "from": e.landmark, "side": e.side, "distance_mm": e.distance_mm}

    return {
        "id": line.id,
        "name": line.name,
        "on": line.side,
        "kind": line.kind.value,
        "start": end(line.start),
        "end": end(line.end),
        "through": [list(point) for point in line.through],
        "symmetric": line.symmetric,
        "carries": line.carries,
    }


def _shares(row: dict[str, Any]) -> str:
    """Shares by number, twins together: 'front yoke 7 %, sleeves 20 %'."""
    from mockup.sheets.compare import whole_percents

    by_number: dict[int, tuple[str, float]] = {}
    for p in row["panels"]:
        name, share = by_number.get(p["number"], (p["name"], 0.0))
        by_number[p["number"]] = name, share + p["share"]
    whole = whole_percents([share for _, share in by_number.values()])
    return ", ".join(f"{name} {percent} %" for (name, _), percent in zip(by_number.values(), whole, strict=True))


def _figures(one: Any, unit: str) -> dict[str, Any]:
    bought = {"price": "to_buy_price", "m²": "to_buy_m2", "share": "to_buy_share"}[unit]
    return {
        "fabrics": one.fabrics,
        "cloths": one.cloths,
        "contrast_delta_e": one.contrast_delta_e,
        "luminance_ratio": one.luminance_ratio,
        "told_apart_delta_e": one.told_apart_delta_e,
        "used_up_share": one.used_up_share,
        "weight_clashes": one.weight_clashes,
        "wash_rank": one.wash_rank,
        bought: one.to_buy,
        "best_for": list(one.best_for),
        "gives_up": list(one.gives_up),
        "why": list(one.why),
    }


def _said(row: dict[str, Any]) -> list[str]:
    lines = [f"Best for: {', '.join(row['best_for'])}."] if row["best_for"] else []
    lines += [f"Gives up: {', '.join(row['gives_up'])}."] if row["gives_up"] else []
    return [*lines, *row["why"]]


def _cloths(loaded: Any, fabrics: dict[str, str]) -> str:
    """The panels of each cloth: 'spruce: front-1, back-1 · oat: front-2'."""
    by_cloth: dict[str, list[str]] = {}
    for panel, fabric in fabrics.items():
        by_cloth.setdefault(fabric, []).append(panel)
    names = {f.id: f.name for f in loaded.fabrics}
    return " · ".join(f"{names[fabric]}: {', '.join(panels)}" for fabric, panels in by_cloth.items())


def _pair(text: str) -> tuple[str, str]:
    from swatches.errors import InputError

    panel, equals, fabric = text.partition("=")
    if not equals or not panel or not fabric:
        raise InputError(
            "--keep", expected="a panel, =, a cloth", got=repr(text), next_step="Type it like --keep front-1=oat"
        )
    return panel, fabric
