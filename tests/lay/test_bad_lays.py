"""What cannot be laid is refused or answered in one clear sentence, by command, and nothing is half-written."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from mockup.lay import strip
from mockup.lay.exact import faults
from mockup.lay.lay import Answer, Lay, LayPiece, missing
from mockup.lay.rows import CLOTH, cloth_of
from mockup.lay.strip import lay_on_width
from swatches.errors import MockupError
from ui.commands.lay import lay as command

SQUARE = [[0, 0], [100, 0], [100, 100], [0, 100]]
ROOM = [[0, 0], [300, 0], [300, 200], [0, 200]]


def piece(**more: Any) -> dict[str, Any]:
    return {"name": "1 yoke", "outline": SQUARE} | more


def asked(tmp_path: Path, pieces: list[dict[str, Any]], scraps: list[dict[str, Any]], *more: str) -> Any:
    (tmp_path / "pieces.json").write_text(json.dumps(pieces))
    (tmp_path / "scraps.json").write_text(json.dumps(scraps))
    files = [str(tmp_path / "pieces.json"), "--scraps", str(tmp_path / "scraps.json")]
    out = ["--out", str(tmp_path / "out"), "--time", "1", "--json"]
    return CliRunner().invoke(command, [*files, *out, *more])


@pytest.mark.parametrize(
    ("pieces", "scraps", "more", "words"),
    [
        ([piece(outline=[[0, 0], [10, 0], [20, 0]])], [{"name": "s", "outline": ROOM}], [], "outline of '1 yoke'"),
        ([piece(outline=[[0, 0], [9, 9], [9, 0], [0, 9]])], [{"name": "s", "outline": ROOM}], [], "cross"),
        ([piece()], [{"name": "s", "outline": ROOM, "grain_deg": None}], [], "pulling a thread"),
        (
            [piece()],
            [{"name": "a", "outline": ROOM}, {"name": "b", "outline": [[x + 40, y + 40] for x, y in ROOM]}],
            [],
            "cut twice",
        ),
        ([piece()], [{"name": "s", "outline": ROOM}], ["--clearance", "15cm"], "smaller clearance"),
        ([piece()], [{"name": "s", "outline": ROOM}], ["--folded"], "single layer"),
        ([piece()], [{"name": "s", "outline": ROOM}], ["--bias", "yoke", "--knit"], "knit"),
        ([piece()], [{"name": "s", "outline": ROOM}], ["--repeat", "6cm"], "0x6cm"),
        ([piece(fold=[[0, 0], [50, 50]])], [{"name": "s", "outline": ROOM}], [], "straight edge"),
        ([piece(count=0)], [{"name": "s", "outline": ROOM}], [], "count"),
        ([piece(), piece()], [{"name": "s", "outline": ROOM}], [], "same name twice"),
        ([piece()], [], [], "at least one scrap"),
        ([piece()], [{"name": "s", "outline": ROOM, "flaws": [ROOM]}], [], "Leave this scrap out"),
        ([piece(surprise=1)], [{"name": "s", "outline": ROOM}], [], "no. 1, surprise: expected only names"),
    ],
)
def test_bad_input_gets_one_sentence_and_no_file(
    tmp_path: Path, pieces: list[dict[str, Any]], scraps: list[dict[str, Any]], more: list[str], words: str
) -> None:
    found = asked(tmp_path, pieces, scraps, *more)
    assert isinstance(found.exception, MockupError)
    assert words in str(found.exception)
    assert "\n" not in str(found.exception)
    assert not (tmp_path / "out").exists()


def test_a_piece_larger_than_all_scraps_is_a_no_with_its_name(tmp_path: Path) -> None:
    found = asked(tmp_path, [piece(outline=[[0, 0], [400, 0], [400, 50], [0, 50]])], [{"name": "s", "outline": ROOM}])
    answer = json.loads(found.stdout)
    assert found.exit_code == 1
    assert answer["answer"] == "no"
    assert "'1 yoke' fits nowhere on 's'" in answer["proof"]


@pytest.mark.skipif(not hasattr(__import__("signal"), "SIGKILL"), reason="a system without that signal")
def test_a_solver_that_is_killed_is_said_and_what_it_had_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    real = subprocess.Popen
    killed = (
        "import os, signal, sys; import mockup.lay.solver as solver; real = sys.stdout.write\n"
        "def write(text):\n    real(text); sys.stdout.flush(); os.kill(os.getpid(), signal.SIGKILL)\n"
        "sys.stdout.write = write; solver.main()"
    )

    def killing(_command: list[str], **options: object) -> object:
        return real([sys.executable, "-c", killed], **options)  # type: ignore[call-overload]

    monkeypatch.setattr(strip.subprocess, "Popen", killing)
    wedge = LayPiece("wedge", ((0.0, 0.0), (200.0, 0.0), (120.0, 90.0), (0.0, 100.0)), count=6)
    found = lay_on_width([wedge], 500, time_s=3)
    assert isinstance(found, Lay)
    assert found.answer is Answer.YES
    assert "stopped with a fault; this is the best lay it had" in found.proof
    assert missing([wedge], found.placements) == ()
    assert faults({"wedge": wedge}, {CLOTH: cloth_of(500, found.length_mm or 0)}, found.placements) == []
