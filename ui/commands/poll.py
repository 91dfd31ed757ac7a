"""``mockup poll``: ask others, and count what they say."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ui.commands.kinds import FILE, OUT_FOLDER, PROJECT
from ui.commands.terminal import absolute, say, terminal_job, whole_folder, with_json

if TYPE_CHECKING:
    import socket

    from mockup.polls.poll import Poll
    from mockup.polls.store import PollStore

_DATA = click.option("--data", type=click.Path(path_type=Path, file_okay=False), help="Folder for polls and votes.")
_POLL = click.option("--poll", "poll_id", default="", help="Which poll; without it, the newest.")


@click.group("poll")
def poll() -> None:
    """Let others vote on lettered choices, and count the votes."""


@poll.command("cards")
@click.argument("project", type=PROJECT)
@click.option("--title", default="", help="The question on each card; without it, the garment's name.")
@click.option("--out", type=OUT_FOLDER, required=True, help="Folder for the cards.")
@with_json
def cards(project: Path, title: str, out: Path, as_json: bool) -> None:
    """Write a picture of every choice to post: 1080×1080, 1080×1350 and 1080×1920, with text alternatives."""
    from mockup.files import project_file
    from mockup.journey.polling import write_cards

    loaded = project_file.load(project)
    with terminal_job() as job, whole_folder(out) as folder:
        written, choices = write_cards(loaded, project, folder, title=title, job=job)
        lines = [f"{path.name}: {text}" for path, text in written.items()]
        (folder / "text-alternatives.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
    files = [absolute(out / path.name) for path in written] + [absolute(out / "text-alternatives.txt")]
    say(as_json, {"choices": [c.letter for c in choices], "files": files}, "\n".join(files))


@poll.command("open")
@click.argument("project", type=PROJECT)
@click.option("--title", required=True, help="The question.")
@click.option(
    "--ask", type=click.Choice(["one", "rank"]), default="one", show_default=True, help="Choose one, or rank."
)
@click.option("--closes", default="", metavar="DATE", help="Last moment to vote, such as 2026-12-01T18:00, local time.")
@click.option(
    "--links", type=click.IntRange(0, 10_000), default=0, help="Make so many one-time links; then only they may vote."
)
@_DATA
@with_json
def open_(project: Path, title: str, ask: str, closes: str, links: int, data: Path | None, as_json: bool) -> None:
    """Open a poll on all choices of PROJECT. Serve it with mockup poll serve.

    With an open link anybody who has the address can vote, once a browser; who clears the browser's mark can vote
    again. One-time links are surer.
    """
    import tempfile

    from mockup.files import project_file
    from mockup.journey.polling import DATABASE, open_poll
    from mockup.polls.poll import Ask
    from mockup.polls.store import PollStore

    loaded, folder, moment = project_file.load(project), _folder(data), _moment(closes)
    with tempfile.TemporaryDirectory(prefix="mockup-poll-", ignore_cleanup_errors=True) as trial:
        # A poll that is refused leaves no data folder behind.
        PollStore(Path(trial) / DATABASE).checked(title, [c.letter for c in loaded.colourways], moment)
    with terminal_job() as job:
        opened = open_poll(
            loaded, project, folder, title=title, ask=Ask(ask), open_link=links == 0, closes=moment, job=job
        )
    keys = PollStore(folder / DATABASE).make_links(opened.id, links) if links else ()
    paths = [f"/{opened.id}?key={key}" for key in keys] or [f"/{opened.id}"]
    answer = {"poll": opened.id, "title": opened.title, "choices": list(opened.letters), "paths": paths}
    say(as_json, answer, f"Poll {opened.id} is open: mockup poll serve\n" + "\n".join(paths))


@poll.command("serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to answer on.")
@click.option("--port", default=8470, show_default=True, type=click.IntRange(1, 65535), help="Port.")
@click.option(
    "--votes-a-minute",
    default=30,
    show_default=True,
    type=click.IntRange(1, 1_000_000),
    help="Votes heard from one address; a hall with one shared connection may need more.",
)
@click.option(
    "--in-turn",
    is_flag=True,
    help="People vote one after the other on one screen: after each vote the next person is let in. It cannot tell "
    "people apart.",
)
@_DATA
@with_json
def serve(host: str, port: int, votes_a_minute: int, in_turn: bool, data: Path | None, as_json: bool) -> None:
    """Serve the voting pages, and nothing else, until Ctrl-C.

    On 127.0.0.1 only this computer can vote. With --host 0.0.0.0 everybody in the same network can, over an unencrypted
    connection. People outside cannot reach it without a hosting of your own: post cards instead, and use poll count.
    """
    import uvicorn

    from mockup.journey.polling import PICTURES
    from ui.poll.app import build_poll_app

    folder, store = _folder(data), _store(data)
    newest = _chosen(store, "")
    listener = _listening(host, port)  # before the address is said: it may be taken
    reach = (
        "only this computer" if host in ("127.0.0.1", "localhost", "::1") else "everybody in this network, unencrypted"
    )
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{port}/{newest.id}"
    text = f"{address}  can be reached by {reach}; not from outside. Ctrl-C ends it."
    say(as_json, {"address": address, "poll": newest.id, "reach": reach}, text)
    app = build_poll_app(store, folder / PICTURES, votes_a_minute=votes_a_minute, in_turn=in_turn)
    settings = uvicorn.Config(app, host=host, port=port, log_level="warning", server_header=False, ws="none")
    with listener, contextlib.suppress(KeyboardInterrupt):  # that is how it ends
        uvicorn.Server(settings).run(sockets=[listener])


def _listening(host: str, port: int) -> socket.socket:
    """A socket that has the port.

    Raises:
        InputError: it is taken, or the address is not one of this computer.
    """
    import os
    import socket

    from swatches.errors import InputError

    listener = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # a port that was left a moment ago is free; on Windows this would share a taken one
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind((host, port))
        listener.listen()
    except OSError as error:
        listener.close()
        raise InputError(
            "--host and --port",
            expected="an address of this computer that is free",
            got=f"{host}:{port} ({error.strerror or error})",
            next_step="Try another --port",
        ) from error
    return listener


@poll.command("close")
@_POLL
@_DATA
@with_json
def close(poll_id: str, data: Path | None, as_json: bool) -> None:
    """Close a poll: from now on no vote counts."""
    store = _store(data)
    chosen = _chosen(store, poll_id)
    store.close(chosen.id)
    say(as_json, {"poll": chosen.id, "closed": True}, f"Poll {chosen.id} is closed.")


@poll.command("count")
@click.argument("votes", type=FILE, required=False)
@click.option(
    "--totals",
    default="",
    metavar="A=12,B=7",
    help="Count typed totals of votes gathered elsewhere, by letter or by a name of the poll's choices.",
)
@click.option("--choices", default="", help="Letters on offer, such as ABCD; without it, those that were voted for.")
@_POLL
@_DATA
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), help="Write the votes of a poll as CSV.")
@click.option("--chart", type=click.Path(dir_okay=False, path_type=Path), help="Draw the counts, a PNG or JPEG.")
@with_json
def count_votes(
    votes: Path | None, totals: str, choices: str, poll_id: str, data: Path | None, out: Path | None,
    chart: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Count VOTES, a CSV file with the columns voter,choice or voter,first,second,…; without it, a poll's own votes.

    Of typed totals only first places are known.

    Each voter counts once. Intervals are what they would be if these voters were a random sample; people who choose
    themselves to vote are not one.
    """
    from mockup.polls.ballot import MAX_BYTES, read_totals, read_votes
    from mockup.polls.count import count
    from mockup.polls.report import count_json, count_text
    from mockup.sheets.cutting_list import csv_text
    from swatches.safe_write import write_whole

    files = []
    title = "Votes"
    if totals:
        ballots = read_totals(totals, names=_names(data, poll_id))
    elif votes is not None:
        ballots = read_votes(_at_most(votes, MAX_BYTES), offered=tuple(choices), what=str(votes))
    else:
        store = _store(data)
        chosen = _chosen(store, poll_id)
        ballots, title = store.ballots(chosen), chosen.title
        if out is not None and ballots.ballots:
            write_whole(out, csv_text(store.rows(chosen)).encode())
            files = [absolute(out)]
    result = count(ballots)
    said = count_text(result, ballots.warnings)
    if chart is not None:
        from mockup.sheets.votes_chart import chart_words, votes_chart
        from ui.commands.design import save_picture

        save_picture(chart, votes_chart(result, title=title))
        files.append(absolute(chart))
        said += "\n" + chart_words(result, title=title)
    say(as_json, {**count_json(result), "warnings": list(ballots.warnings), "files": files}, said)


def _at_most(path: Path, size: int) -> bytes:
    """Read no more than one byte over the limit, so that the reader can refuse a huge file without loading it."""
    with path.open("rb") as stream:
        return stream.read(size + 1)


def _folder(data: Path | None) -> Path:
    from platformdirs import user_data_path

    return data if data is not None else user_data_path("garment-mockup", appauthor=False)


def _names(data: Path | None, poll_id: str) -> dict[str, str]:
    """Letter → name of a poll's choices; without any poll none are known, and letters do."""
    from mockup.journey.polling import DATABASE
    from mockup.polls.store import PollStore

    path = _folder(data) / DATABASE
    chosen = None
    if poll_id:
        chosen = _chosen(_store(data), poll_id)
    elif path.is_file():
        chosen = PollStore(path).newest()
    return {c.letter: c.name for c in chosen.choices} if chosen is not None else {}


def _store(data: Path | None) -> PollStore:
    """Polls that are there; without any, no folder is made for asking."""
    from mockup.journey.polling import DATABASE
    from mockup.polls.store import PollStore

    path = _folder(data) / DATABASE
    if not path.is_file():
        raise _no_poll("none")
    return PollStore(path)


def _chosen(store: PollStore, poll_id: str) -> Poll:
    chosen = store.get(poll_id) if poll_id else store.newest()
    if chosen is None:
        raise _no_poll(poll_id or "none")
    return chosen


def _no_poll(got: str) -> Exception:
    from swatches.errors import InputError

    return InputError("poll", expected="an open poll", got=got, next_step="Open one: mockup poll open")


def _moment(text: str) -> float | None:
    import datetime

    from swatches.errors import InputError

    if not text:
        return None
    try:
        return datetime.datetime.fromisoformat(text).timestamp()
    except ValueError as error:
        raise InputError(
            "--closes", expected="a date and time", got=text, next_step="Write it like 2026-12-01T18:00"
        ) from error


poll.add_command(open_, "open")
