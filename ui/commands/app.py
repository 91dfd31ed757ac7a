"""``mockup app``: open the page."""

from __future__ import annotations

from pathlib import Path

import click

from ui.commands.terminal import with_json


@click.command("app")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to answer on.")
@click.option(
    "--port", default=7860, show_default=True, type=click.IntRange(0, 65535), help="Port; 0 takes a free one."
)
@click.option("--data", type=click.Path(path_type=Path, file_okay=False), help="Folder for projects and your cloth.")
@with_json
def app(host: str, port: int, data: Path | None, as_json: bool) -> None:
    """Open the page in your browser; it answers on this computer only."""
