"""The command ``mockup``: one group, its commands imported only when they are asked for.

Exit codes: 0 done; 1 done, and something forbids; 2 bad input, one line; 70 a fault of this software (as in BSD's
``sysexits.h``, EX_SOFTWARE); 130 stopped with Ctrl-C (as shells have it, 128 + SIGINT).
"""

from __future__ import annotations

import importlib
import os
import re
import sys
import traceback

import click

from swatches.errors import Cancelled, MockupError, ProofError
from ui.commands.terminal import one_line

COMMANDS = {
    "app": "app",
    "demo": "demo",
    "new": "garment",
    "area": "areas",
    "landmark": "areas",
    "photo": "photo",
    "regions": "garment",
    "mask": "garment",
    "recolour": "garment",
    "swatch": "cloth",
    "stash": "stash",
    "line": "lines",
    "detail": "details",
    "panels": "design",
    "assign": "design",
    "paint": "design",
    "compare": "design",
    "batch": "batch",
    "propose": "suggest",
    "suggest": "suggest",
    "check": "check",
    "limits": "limits",
    "facts": "limits",
    "split": "pieces",
    "pieces": "pieces_read",
    "cut": "cut",
    "unfold": "pieces",
    "join": "sewing",
    "walk": "sewing",
    "print": "pieces",
    "handout": "handout",
    "order": "handout",
    "lay": "lay",
    "from-stash": "from_stash",
    "poll": "poll",
}
"""Command → file of it in this folder, in the order of a garment's way."""


class Mockup(click.Group):
    """The group; what is not asked for is not imported."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """List the commands in their order."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command."""
        module = COMMANDS.get(cmd_name)
        if module is None:
            return None
        found = importlib.import_module(f"ui.commands.{module}")
        attribute = cmd_name.replace("-", "_")
        command = getattr(found, "print_" if attribute == "print" else attribute)
        assert isinstance(command, click.Command)  # noqa: S101 - a wrong table is a fault of ours
        return command


@click.group("mockup", cls=Mockup, invoke_without_command=True, context_settings={"help_option_names": ["--help"]})
@click.version_option(package_name="garment-mockup")
@click.pass_context
def mockup(ctx: click.Context) -> None:
    """Colour-block a garment from the cloth you own: from a drawing to painted choices and printable pieces.

    Without a command, the page opens in your browser.
    """
    if ctx.invoked_subcommand is None:
        page = mockup.get_command(ctx, "app")
        assert page is not None  # noqa: S101
        ctx.invoke(page)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and exit."""
    # Before the first command loads numpy: its matrices are small here, and threads for them only keep each other busy
    # (a fifth of a swatch's processor time, and no second of waiting). Who sets it otherwise keeps it so.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    sys.exit(run(sys.argv[1:] if arguments is None else arguments))


def run(arguments: list[str]) -> int:
    """Run the command line and give the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        result = mockup.main(args=arguments, prog_name="mockup", standalone_mode=False)
    except click.exceptions.Exit as end:
        return end.exit_code
    except click.UsageError as error:
        return _tell(_usage(error), 2)
    except click.ClickException as error:
        return _tell(error.format_message(), 2)
    except (Cancelled, click.Abort, KeyboardInterrupt):
        return _tell("Stopped, as you asked. Nothing was changed.", 130)
    except ProofError as error:
        return _tell(str(error), 1)
    except MockupError as error:
        return _tell(str(error), 2)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        return _tell(f"{error.filename or 'file'}: {error.strerror or error}", 2)
    except Exception as error:  # noqa: BLE001 - the one place where everything ends
        if os.environ.get("MOCKUP_DEBUG"):
            traceback.print_exc()
        hint = "This is a fault of ours; set MOCKUP_DEBUG=1 to see where."
        return _tell(f"{type(error).__name__}: {error}. {hint}", 70)
    return result if isinstance(result, int) else 0


_PLAIN = tuple(
    (re.compile(machine), plain)
    for machine, plain in (
        (r"^Invalid value for '\[?([^']*?)(?:…|\.\.\.)?\]?': ", r"\1: "),
        (r"(?:File|Path|Directory) '(.*)' does not exist", r"there is nothing called '\1'"),
        (r"File '(.*)' is a directory", r"a file is expected, and '\1' is a folder"),
        (r"Directory '(.*)' is a file", r"a folder is expected, and '\1' is a file"),
        (r"(\S+) is not in the range (\S+?)<=x<=(\S+?)\.?$", r"expected from \2 to \3, got \1"),
        (r"(\S+) is not in the range x>=(\S+?)\.?$", r"expected \2 or more, got \1"),
        (r"'(.*)' is not a valid (?:integer|float)( range)?", r"expected a number, got '\1'"),
        (r"^Got unexpected extra arguments? ", "Not understood: "),
    )
)
"""What the library of the command line says, and how a person says it."""


def _usage(error: click.UsageError) -> str:
    where = error.ctx.command_path if error.ctx else "mockup"
    said = error.format_message()
    for machine, plain in _PLAIN:
        said = machine.sub(plain, said)
    return f"{said.rstrip('.')}. See '{where} --help'."


def _tell(text: str, code: int) -> int:
    click.echo(one_line(text), err=True)
    return code
