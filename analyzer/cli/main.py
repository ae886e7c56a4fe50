"""The entry of the command line: finds the commands, and turns every error into one line and an exit status.

Exit status: 0 done; 1 the data cannot give the answer; 2 wrong use, unreadable input or an unexpected problem;
130 stopped from the keyboard. Setting CLIMBLEDGER_DEBUG=1 in the environment shows the traceback of an unexpected
problem and Python's warnings.
"""

from __future__ import annotations

import sys
import warnings
from importlib.metadata import entry_points, version
from typing import TYPE_CHECKING, Final

import click

from analyzer.cli import STOPPED
from analyzer.cli.problems import brief, debugging, report_problem, usage_line
from analyzer.cli.streams import close_quietly, prepare_streams, say
from analyzer.errors import ClimbledgerError

if TYPE_CHECKING:
    from collections.abc import Sequence

COMMAND_GROUP: Final = "climbledger.commands"


class CommandsByEntryPoint(click.Group):
    """A group whose commands are entry points: a package that registers one adds a command."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the commands, without loading any."""
        return sorted({*super().list_commands(ctx), *entry_points(group=COMMAND_GROUP).names})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command; one that cannot be loaded becomes a command that says so, and breaks no other."""
        for entry in entry_points(group=COMMAND_GROUP, name=cmd_name):
            try:
                command = entry.load()
            except Exception as error:  # noqa: BLE001 - whatever an installed package raises on import
                return _broken_command(cmd_name, error)
            return command if isinstance(command, click.Command) else _broken_command(cmd_name, TypeError(entry.value))
        return super().get_command(ctx, cmd_name)


def _broken_command(name: str, error: Exception) -> click.Command:
    @click.command(name, short_help="(not available)", context_settings={"ignore_unknown_options": True})
    @click.argument("arguments", nargs=-1)
    def broken(arguments: tuple[str, ...]) -> None:
        """Explain that the command cannot be loaded."""
        raise ClimbledgerError(
            f"the command cannot be loaded ({brief(error)})", source=name, remedy="install climbledger again"
        ) from error

    return broken


def _show_version(ctx: click.Context, _parameter: click.Parameter, wanted: bool) -> None:
    if wanted and not ctx.resilient_parsing:
        click.echo(f"climbledger {version('climbledger')}")
        ctx.exit()


@click.group(
    cls=CommandsByEntryPoint,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="\b\nExample:\n  climbledger analyze flight.csv --setup my_model.toml --report flight.html",
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_show_version,
    help="Show the version and exit.",
)
def cli() -> None:
    """From the telemetry log of an electric sailplane to decisions: climbs and their cost, glides, thermals, limits."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and exit; the one place where errors become words.

    Parameters
    ----------
    arguments : sequence of str, optional
        Instead of the process's own.
    """
    prepare_streams()
    if not debugging():
        warnings.simplefilter("ignore")
    try:
        status = run(arguments)
    except BrokenPipeError:  # the reader, `head` for example, has seen enough
        close_quietly(sys.stdout)
        status = 0
    sys.exit(status)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; return the exit status instead of leaving.

    Raises
    ------
    BrokenPipeError
        When the reader of standard output has gone.
    """
    try:
        # not click's own `main`: it would end the process with status 1 when the reader of a pipe has gone
        with cli.make_context("climbledger", list(_command_line() if arguments is None else arguments)) as context:
            result = cli.invoke(context)
            sys.stdout.flush()
    except click.exceptions.Exit as done:
        return done.exit_code
    except (KeyboardInterrupt, click.Abort):
        say("stopped")
        return STOPPED
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.format_message())
        return 0
    except click.ClickException as error:
        say(usage_line(error))
        return 2
    except BrokenPipeError:
        raise
    except OSError as error:  # click's own text; all that we write or read ourselves says its trouble in words
        from analyzer.export.writing import stdout_error

        return report_problem(stdout_error(error))
    except Exception as error:  # noqa: BLE001 - the last line of defence: no traceback reaches a user
        return report_problem(error)
    return result if isinstance(result, int) else 0


def _command_line() -> list[str]:
    """The process's arguments; on Windows, whose shells leave it to the program, file patterns are filled in."""
    given = sys.argv[1:]
    if sys.platform != "win32":
        return given
    from glob import glob

    return [path for argument in given for path in (sorted(glob(argument)) or [argument])]  # noqa: PTH207 - also absolute
