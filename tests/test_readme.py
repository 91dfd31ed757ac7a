"""The README is run: its Python as it stands, its commands as far as their words go."""

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from swatches.photo import read_photo
from ui.commands.main import mockup

TEXT = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
COMMANDS = [
    line.split("#")[0] if line.startswith("#") else line
    for block in re.findall(r"```sh\n(.*?)```", TEXT, re.DOTALL)
    for line in block.splitlines()
    if line.startswith("mockup ")
]


def test_the_ten_lines_of_python_run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (code,) = re.findall(r"```python\n(.*?)```", TEXT, re.DOTALL)
    names: dict[str, object] = {}
    exec(compile(code, "README.md", "exec"), names)  # noqa: S102 - our own README
    steps = code.split("\n\n", 2)[2]
    assert len(steps.strip().splitlines()) <= 10
    assert read_photo(tmp_path / "front.png").rgb8.std() > 20  # painted, not an empty sheet
    assert len(names["project"].fabrics) == 2


@pytest.mark.parametrize("line", COMMANDS)
def test_every_command_has_these_words(line):
    arguments = shlex.split(line)[1:]
    result = CliRunner().invoke(mockup, [*arguments, "--help"])
    assert result.exit_code == 0, result.output
    assert result.output.startswith("Usage: ")


def test_there_are_commands():
    assert len(COMMANDS) > 12


def test_the_picture_is_there():
    for target in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", TEXT):
        assert (Path(__file__).parent.parent / target).is_file()
