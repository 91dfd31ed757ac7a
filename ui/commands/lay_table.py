"""``mockup lay --widths``: a table of how much to buy over the usual widths of cloth."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from ui.commands.lay_asked import Asked
from ui.commands.terminal import forbid, say, terminal_job

if TYPE_CHECKING:
    from mockup.lay.lay import LayPiece
    from mockup.lay.widths import WidthRow


def table(
    cloths: dict[str, tuple[LayPiece, ...]], widths: str, selvedges_mm: float, asked: Asked, as_json: bool
) -> None:
    """Lay every cloth on each of the usual widths, and print what each needs."""
    from mockup.lay.widths import INCHES_MM, METRIC_MM, width_table
    from swatches.job import Part

    chosen = {"metric": METRIC_MM, "inch": INCHES_MM, "all": (*METRIC_MM, *INCHES_MM)}[widths]
    count = len(cloths)
    found: list[dict[str, Any]] = []
    lines: list[str] = []
    without = False
    with terminal_job() as job:
        for k, (name, wanted) in enumerate(cloths.items()):
            rows = width_table(
                wanted, chosen, selvedges_mm=selvedges_mm, folded=asked.folded, clearance_mm=asked.clearance_mm,
                border_mm=asked.border_mm, nap=asked.on(name).nap, repeat_mm=asked.repeat_mm,
                shrinkage_percent=asked.shrinkage,
                by_yard=asked.by_yard, price=asked.price, time_s=asked.time_s / len(chosen) / count, seed=asked.seed,
                job=Part(job, k / count, (k + 1) / count),
            )  # fmt: skip
            if count > 1:
                lines.append(f"{name}:")
            lines += asked.words(name)
            found += [({"fabric": name} if count > 1 else {}) | asdict(row) for row in rows]
            without = without or all(row.buy_mm is None for row in rows)
            lines += [_said(row, asked) for row in rows]
    say(as_json, {"widths": found}, "\n".join(lines))
    if without:
        forbid()


def _said(row: WidthRow, asked: Asked) -> str:
    from mockup.lay.widths import INCHES_MM
    from swatches.units import MM_PER_INCH

    inch = row.width_mm in INCHES_MM
    size = f"{row.width_mm / MM_PER_INCH:.0f} in" if inch else f"{row.width_mm / 10:.0f} cm"
    if row.buy_mm is None:
        return f"{size:>7}  {row.note}"
    cost = "" if row.cost is None else f"  {row.cost:8.2f}"
    return f"{size:>7}  {sold_length(row.buy_mm, asked):>9}{cost}  {100 * (row.density or 0):3.0f} % used"


def sold_length(mm: float, asked: Asked) -> str:
    """A length as the shop sells it: in metres, or in yards and eighths."""
    from mockup.lay.widths import eighths

    return eighths(mm) if asked.by_yard else f"{mm / 1000:.1f} m"
