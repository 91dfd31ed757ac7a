"""``mockup poll``: a taken port, and data folders that are not made for nothing."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from mockup.files import project_file
from mockup.journey.polling import DATABASE
from mockup.polls.poll import Ask, PollChoice
from mockup.polls.store import PollStore


def test_a_taken_port_is_said_before_an_address(
    refused: Callable[..., str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    data = tmp_path_factory.mktemp("polls")
    choices = [PollChoice(letter, "", f"{letter}.png", letter) for letter in "AB"]
    PollStore(data / DATABASE).add("Which?", choices, ask=Ask.ONE, open_link=True)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        said = refused("poll", "serve", "--data", data, "--port", taken.getsockname()[1])
    assert "an address of this computer that is free" in said


@pytest.mark.parametrize("words", [("serve",), ("close",), ("count",), ("count", "--poll", "abc")])
def test_asking_for_polls_makes_no_folder(refused: Callable[..., str], tmp_path: Path, words: tuple[str, ...]) -> None:
    assert "mockup poll open" in refused("poll", *words, "--data", tmp_path / "data")


def test_a_poll_that_is_refused_makes_no_folder(refused: Callable[..., str], tmp_path: Path, put_tunic: Any) -> None:
    project = tmp_path / "tunic"
    project_file.save(put_tunic(project), project)
    said = refused("poll", "open", project, "--title", "Which?", "--data", tmp_path / "data")
    assert "different choices" in said


def test_votes_are_counted_in_words_with_their_ranks(mockup: Callable[..., Any], tmp_path: Path) -> None:
    table = tmp_path / "votes.csv"
    table.write_text("voter,first,second,third\na,A,B,C\nb,C,B,A\nc,B,A,C\n", encoding="utf-8")
    ran = mockup("poll", "count", table)
    assert ran.code == 0, ran.err
    assert "By all ranks, 2 points for a first place" in ran.out
    assert "Head to head, B against A 2 to 1, C 2 to 1." in ran.out
