"""2,000 votes from 50 clients at once on loopback, the server killed in the middle: nothing lost, nothing doubled.

The server is ``mockup poll serve`` in a process of its own. A vote counts as answered when its page says so; a client
that gets no answer sends the same vote again, as a person's browser would.
"""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import httpx
import numpy as np
import pytest

from mockup.journey.polling import DATABASE
from mockup.polls.poll import Ask, PollChoice
from mockup.polls.store import PollStore

CLIENTS, VOTES_EACH = 50, 40
P99_S = 0.250  # our limit


def free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


def serve(data: Path, port: int) -> subprocess.Popen[str]:
    code = "from ui.commands.main import main; import sys; main(sys.argv[1:])"
    server = subprocess.Popen(
        [sys.executable, "-c", code, "poll", "serve", "--port", str(port), "--data", str(data),
         "--votes-a-minute", "1000000", "--json"],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert server.stdout is not None
    address = json.loads("".join(iter(server.stdout.readline, "}\n")) + "}")["address"]
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        try:
            httpx.get(address, timeout=5)
            return server
        except httpx.TransportError:
            time.sleep(0.05)
    raise AssertionError("the server did not start")


class Crowd:
    """Fifty clients; what they were answered, and how long it took."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.answered: list[str] = []
        self.times: list[float] = []
        self.faults: list[str] = []
        self.lock = threading.Lock()

    def client(self, number: int) -> None:
        rng = np.random.default_rng(number)
        with httpx.Client(timeout=30) as browser:
            for _ in range(VOTES_EACH):
                browser.cookies.clear()
                page = self.patiently(lambda: browser.get(self.address))
                form = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page.text))
                form["choice"] = "ABC"[rng.integers(3)]
                begun = time.perf_counter()
                sent = self.patiently(lambda form=form: browser.post(self.address, data=form))
                took = time.perf_counter() - begun
                with self.lock:
                    if "Thank you" in sent.text:
                        self.times.append(took)
                        self.answered.append(form["key"])
                    elif "voted already" in sent.text:  # the server was killed between writing and answering
                        self.answered.append(form["key"])
                    else:
                        self.faults.append(f"{sent.status_code} {sent.text[-300:]}")

    @staticmethod
    def patiently(ask):
        deadline = time.monotonic() + 60
        while True:
            try:
                return ask()
            except httpx.TransportError:
                if time.monotonic() > deadline:
                    raise
                time.sleep(0.2)

    def go(self, meanwhile) -> None:
        threads = [threading.Thread(target=self.client, args=(n,)) for n in range(CLIENTS)]
        for t in threads:
            t.start()
        meanwhile()
        for t in threads:
            t.join()


def plain_p99(address: str) -> float:
    """99th percentile of the time for an answer that costs the server nothing, asked by as many clients, s."""
    times: list[float] = []

    def ask() -> None:
        with httpx.Client(timeout=30) as browser:
            for _ in range(VOTES_EACH):
                begun = time.perf_counter()
                browser.get(address)
                times.append(time.perf_counter() - begun)

    threads = [threading.Thread(target=ask) for _ in range(CLIENTS)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    return float(np.percentile(times, 99))


def opened(data: Path):
    store = PollStore(data / DATABASE)
    return store, store.add("Which?", [PollChoice(x, "", f"{x}.png", x) for x in "ABC"], ask=Ask.ONE, open_link=True)


@pytest.mark.slow
def test_two_thousand_votes_at_once_are_all_there_once_and_quick(tmp_path, record_property):
    store, poll = opened(tmp_path)
    port = free_port()
    server = serve(tmp_path, port)
    try:
        plain = plain_p99(f"http://127.0.0.1:{port}/nothing/is/here")
        crowd = Crowd(f"http://127.0.0.1:{port}/{poll.id}")
        crowd.go(lambda: None)
    finally:
        server.kill()
        server.wait()
    assert crowd.faults == []
    assert len(set(crowd.answered)) == CLIENTS * VOTES_EACH
    assert len(store.ballots(poll).ballots) == CLIENTS * VOTES_EACH
    times = np.array(crowd.times)
    told = f"p50 {np.percentile(times, 50):.3f} s, p99 {np.percentile(times, 99):.3f} s, worst {times.max():.3f} s"
    told += f"; as many questions that the server answers without looking anything up: p99 {plain:.3f} s"
    record_property("votes", told)
    # On a machine that is busy with other things nobody is answered in time; then a vote may take a few times as long
    # as the least that the same clients and server need for anything.
    assert np.percentile(times, 99) <= max(P99_S, 4 * plain), told


@pytest.mark.slow
def test_a_server_killed_in_the_middle_loses_no_vote_that_it_answered(tmp_path):
    store, poll = opened(tmp_path)
    port = free_port()
    running = [serve(tmp_path, port)]
    crowd = Crowd(f"http://127.0.0.1:{port}/{poll.id}")
    before: list[str] = []

    def kill_in_the_middle() -> None:
        while len(crowd.answered) < CLIENTS * VOTES_EACH // 2:
            time.sleep(0.01)
        running[0].send_signal(signal.SIGKILL)
        running[0].wait()
        with crowd.lock:
            before.extend(crowd.answered)
        kept = [key for key in before if store.may_vote(poll, key) is not None]
        assert len(kept) == len(before), "a vote that was answered is gone"
        running.append(serve(tmp_path, port))

    try:
        crowd.go(kill_in_the_middle)
    finally:
        for server in running:
            server.kill()
            server.wait()
    assert len(before) >= CLIENTS * VOTES_EACH // 2
    assert crowd.faults == []
    assert Counter(crowd.answered).most_common(1)[0][1] == 1
    assert len(crowd.answered) == len(store.ballots(poll).ballots) == CLIENTS * VOTES_EACH
