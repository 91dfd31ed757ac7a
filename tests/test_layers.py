"""Imports point down only: the contracts of pyproject.toml are a test."""

from pathlib import Path

import pytest
from importlinter.cli import lint_imports

ROOT = Path(__file__).parent.parent


@pytest.fixture(autouse=True)
def _keep_loggers(monkeypatch):
    """The linter's own logging set-up would silence every logger of this process."""
    monkeypatch.setattr("importlinter.cli.logging_config.dictConfig", lambda _: None)


def test_every_contract_is_kept(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    code = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert code == 0, capsys.readouterr().out


def test_the_check_can_fail(monkeypatch, tmp_path):
    room = tmp_path / "house"
    for name, text in (("lower", "from house import upper\n"), ("upper", "")):
        (room / name).mkdir(parents=True)
        (room / name / "__init__.py").write_text(text)
    (room / "__init__.py").write_text("")
    (tmp_path / "lint.toml").write_text(
        '[tool.importlinter]\nroot_package = "house"\n'
        '[[tool.importlinter.contracts]]\nname = "down"\ntype = "layers"\nlayers = ["house.upper", "house.lower"]\n'
    )
    monkeypatch.chdir(tmp_path)
    monkeypatch.syspath_prepend(str(tmp_path))
    assert lint_imports(config_filename=str(tmp_path / "lint.toml"), no_cache=True) != 0


@pytest.mark.parametrize("room", sorted(p for p in (ROOT / "mockup").glob("*/") if p.name != "__pycache__"))
def test_every_room_is_a_package_and_none_is_called_utils(room):
    assert (room / "__init__.py").exists() or not list(room.glob("*.py"))
    assert "util" not in room.name
