"""``mockup app``: open the page."""

from __future__ import annotations

from pathlib import Path

import click

from ui.commands.terminal import absolute, say, with_json


@click.command("app")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to answer on.")
@click.option(
    "--port", default=7860, show_default=True, type=click.IntRange(0, 65535), help="Port; 0 takes a free one."
)
@click.option("--data", type=click.Path(path_type=Path, file_okay=False), help="Folder for projects and your cloth.")
@click.option("--open/--no-open", "open_browser", default=True, help="Open the page in your browser.")
@with_json
def app(host: str, port: int, data: Path | None, open_browser: bool, as_json: bool) -> None:
    """Open the page in your browser; it answers on this computer only.

    Another --host lets other computers in: whoever can reach it can see and change what is there.
    """
    from platformdirs import user_data_path

    from swatches.errors import InputError
    from ui.app import serve

    port = port or _free_port(host)
    folder = data if data is not None else user_data_path("garment-mockup", appauthor=False)
    address = f"http://{f'[{host}]' if ':' in host else host}:{port}/"
    say(as_json, {"address": address, "data": absolute(folder)}, f"The page is at {address}  (Ctrl-C ends it)")
    try:
        serve(host, port, folder, open_browser=open_browser)
    except OSError as error:
        raise InputError(
            "--host and --port",
            expected="an address of this computer that is free",
            got=f"{host}:{port} ({error.strerror or error})",
            next_step="Try --port 0",
        ) from error


def _free_port(host: str) -> int:
    import socket

    from swatches.errors import InputError

    try:
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM) as listener:
            listener.bind((host, 0))
            return int(listener.getsockname()[1])
    except OSError as error:
        raise InputError(
            "--host", expected="an address of this computer", got=host, next_step="Leave --host out"
        ) from error
