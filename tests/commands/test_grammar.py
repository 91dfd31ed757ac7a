"""The command line's manners: help, exit codes, one line, no slow import."""

from __future__ import annotations

import subprocess
import sys

import click
import pytest

from swatches.errors import Cancelled, ProofError
from ui.commands import main as entry
from ui.commands.main import COMMANDS, mockup, run


def every_command() -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = [()]
    context = click.Context(mockup)
    for name in COMMANDS:
        command = mockup.get_command(context, name)
        found.append((name,))
        if isinstance(command, click.Group):
            found += [(name, sub) for sub in command.commands]
    return found


@pytest.mark.parametrize("words", every_command(), ids=lambda w: " ".join(w) or "mockup")
def test_help_says_what_a_command_does(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*words, "--help"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith(f"Usage: {' '.join(('mockup', *words))}")
    assert err == ""
    context = click.Context(mockup)
    command = mockup if not words else mockup.get_command(context, words[0])
    if len(words) == 2:
        assert isinstance(command, click.Group)
        command = command.commands[words[1]]
    assert command is not None
    assert command.help
    leaf = not isinstance(command, click.Group)
    assert ("--json" in out) == leaf
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{words}: {parameter.name} has no help"


@pytest.mark.parametrize(
    "arguments",
    [
        ["nix"],
        ["lay"],
        ["lay", "--nix"],
        ["regions", "missing.png", "--out", "x"],
        ["swatch", "--sheet", "A3"],
        ["line"],
    ],
)
def test_wrong_usage_is_one_line_and_exit_2(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.strip().splitlines()) == 1
    assert "--help" in err


@pytest.mark.parametrize(
    ("error", "code", "word"),
    [
        (Cancelled("Stopped, as you asked. Nothing was changed."), 130, "Stopped"),
        (KeyboardInterrupt(), 130, "Stopped"),
        (ProofError("Proof failed: x is off."), 1, "Proof failed"),
        (PermissionError(13, "Permission denied", "some.file"), 2, "some.file: Permission denied"),
        (RuntimeError("a fault\nof ours"), 70, "MOCKUP_DEBUG"),
    ],
)
def test_what_goes_wrong_is_one_line(
    error: BaseException, code: int, word: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(**_: object) -> None:
        raise error

    monkeypatch.setattr(entry.mockup, "main", fail)
    assert run(["panels", "x"]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert word in err
    assert len(err.strip().splitlines()) == 1


def test_a_fault_shows_its_trace_only_when_asked(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(**_: object) -> None:
        raise RuntimeError("a fault")

    monkeypatch.setattr(entry.mockup, "main", fail)
    monkeypatch.setenv("MOCKUP_DEBUG", "1")
    assert run(["panels", "x"]) == 70
    assert "Traceback" in capsys.readouterr().err


def test_help_imports_nothing_heavy() -> None:
    # each heavy import costs every command its start; the command line must answer before a person looks up
    heavy = ("gradio", "numpy", "cv2", "scipy", "shapely", "skimage", "reportlab", "ezdxf", "pydantic")
    code = (
        "import sys\nfrom ui.commands.main import run\n"
        "assert run(['--help']) == 0 and run(['cut', '--help']) == 0\n"
        f"print([m for m in {heavy!r} if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
