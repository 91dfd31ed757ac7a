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
@click.option(
    "--phone", is_flag=True, help="Let a phone in your home network send photos; the page shows a code to point it at."
)
@with_json
def app(host: str, port: int, data: Path | None, open_browser: bool, phone: bool, as_json: bool) -> None:
    """Open the page in your browser; it answers on this computer only.

    Another --host lets other computers in: whoever can reach it can see and change what is there. With --phone this
    computer answers in your home network, but only a phone that the page let in can send photos to the garment that
    is open; it sees nothing of it, and nobody else gets in. Photos travel unencrypted there: use it at home.
    """
    from platformdirs import user_data_path

    from swatches.errors import InputError
    from ui.app import serve
    from ui.phone import home_address

    port = port or _free_port(host)
    folder = data if data is not None else user_data_path("garment-mockup", appauthor=False)
    address = f"http://{f'[{host}]' if ':' in host else host}:{port}/"
    door = home_address(host, port) if phone else ""
    told = f"The page is at {address}  (Ctrl-C ends it)"
    answer = {"address": address, "data": absolute(folder)}
    if phone:
        answer["phone"] = f"{door}/phone"
        told += (
            f"\nA phone in your network can be let in at {door}/phone: press 'Let my phone in' on the page."
            "\nOnly photos can be sent there, unencrypted, and only by a phone that was let in. Ctrl-C shuts it."
        )
    listen = "0.0.0.0" if phone and host == "127.0.0.1" else host  # noqa: S104  that is what --phone asks for
    try:
        serve(listen, port, folder, open_browser=open_browser, phone=door, ready=lambda: say(as_json, answer, told))
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
