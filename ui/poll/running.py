"""The voting server beside the page: started when a poll is opened there, on a port of its own."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from pathlib import Path

from mockup.journey.polling import DATABASE, PICTURES
from mockup.polls.store import PollStore
from swatches.errors import InputError

PORT = 8470
HERE, HOME = "here", "home"
"""Who can reach it: this computer alone, or the home network."""
REACH = {
    HERE: "Only this computer can reach it: for trying, or for voting in turn on this screen. It lets the next person "
    "vote and cannot tell people apart.",
    HOME: "Everybody in this home network can reach it, over an unencrypted connection. People outside cannot: "
    "for them it would need a hosting of your own, or post the cards and count what they answer.",
}
_WAIT_S = 10.0


class Voting:
    """One voting server for a data folder; it answers nothing but polls.

    Args:
        data: the data folder.
        port: the port it would like; a free one where that is taken.
    """

    def __init__(self, data: Path, port: int = PORT) -> None:
        self.data, self._wish = data, port
        self._lock = threading.Lock()
        self._running: tuple[str, int, object, threading.Thread] | None = None

    def start(self, reach: str) -> None:
        """Answer polls, for this computer or for the home network; does nothing where it does so already.

        Raises:
            InputError: an unknown reach, or no port is free.
        """
        import uvicorn

        from ui.poll.app import build_poll_app

        if reach not in REACH:
            raise InputError("who can vote", expected=" or ".join(REACH), got=reach, next_step="Choose one of the two")
        with self._lock:
            if self._running and self._running[0] == reach:
                return
            self._stop()
            listener = self._listen("127.0.0.1" if reach == HERE else "0.0.0.0")  # noqa: S104  the person chose so
            port = listener.getsockname()[1]
            store = PollStore(self.data / DATABASE)
            config = uvicorn.Config(
                build_poll_app(store, self.data / PICTURES, in_turn=reach == HERE), log_level="warning",
                server_header=False, ws="none",
                timeout_graceful_shutdown=2,
            )  # fmt: skip
            server = uvicorn.Server(config)
            thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
            thread.start()
            deadline = time.monotonic() + _WAIT_S
            while not server.started and thread.is_alive() and time.monotonic() < deadline:
                thread.join(0.02)
            self._running = (reach, port, server, thread)

    def stop(self) -> None:
        """Answer no more."""
        with self._lock:
            self._stop()

    @property
    def reach(self) -> str:
        """Who can reach it now; empty where it does not run."""
        return self._running[0] if self._running and self._running[3].is_alive() else ""

    def address(self, poll_id: str) -> str:
        """Where a poll is found now; empty where nothing answers."""
        if not self.reach or self._running is None:
            return ""
        host = "127.0.0.1" if self.reach == HERE else own_address()
        return f"http://{host}:{self._running[1]}/{poll_id}"

    def _stop(self) -> None:
        if self._running is not None:
            _, _, server, thread = self._running
            server.should_exit = True  # type: ignore[attr-defined]
            thread.join(_WAIT_S)
            self._running = None

    def _listen(self, host: str) -> socket.socket:
        for port in (self._wish, 0):
            listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            with contextlib.suppress(OSError):
                listener.bind((host, port))
                return listener
            listener.close()
        raise InputError("port", expected="a free one", got="none", next_step="Close other programs, then try again")


def own_address() -> str:
    """Address of this computer in its network; its own loopback where it is in none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737); nothing is sent by connecting
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"
