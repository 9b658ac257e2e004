"""The command `weighbook`: its sub-commands, and how it ends when something is wrong."""

import gc
import importlib
import os
import sys
from pathlib import Path
from typing import Any

import click

from pipeline.errors import WeighbookError

# Command -> the module that holds it, imported only when it is called or listed.
COMMANDS = {
    "new": "pipeline.cli.sheets",
    "take": "pipeline.cli.sheets",
    "kinds": "pipeline.cli.kinds",
    "template": "pipeline.cli.kinds",
    "changes": "pipeline.cli.deciding",
    "flags": "pipeline.cli.deciding",
    "decide": "pipeline.cli.judging",
    "take-back": "pipeline.cli.judging",
    "ask": "pipeline.cli.judging",
    "awaited": "pipeline.cli.judging",
    "coffee": "pipeline.cli.coffee",
    "lots": "pipeline.cli.coffee",
    "weights": "pipeline.cli.coffee",
    "day": "pipeline.cli.coffee",
    "yields": "pipeline.cli.yields",
    "plan": "pipeline.cli.plan",
    "issue": "pipeline.cli.issuing",
    "messages": "pipeline.cli.messages",
    "export": "pipeline.cli.exporting",
    "genuine": "pipeline.cli.issuing",
    "public-key": "pipeline.cli.issuing",
    "money": "pipeline.cli.money",
    "matches": "pipeline.cli.matching",
    "why": "pipeline.cli.deciding",
    "desk": "pipeline.cli.desk",
    "people": "pipeline.cli.desk",
    "up": "pipeline.cli.service",
    "status": "pipeline.cli.service",
    "approve": "pipeline.cli.service",
    "backup": "pipeline.cli.backup",
    "restore": "pipeline.cli.backup",
    "drill": "pipeline.cli.backup",
    "union": "pipeline.cli.union",
    "rebuild": "pipeline.cli.keeping",
    "verify": "pipeline.cli.keeping",
    "rules": "pipeline.cli.keeping",
    "demo": "pipeline.cli.issuing",
    "trial": "pipeline.cli.trial",
    "bench": "pipeline.cli.bench",
}


class Commands(click.Group):
    """A group that imports a command's module late and ends every error in a sentence."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of a week's work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return one command, or None where there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        module: Any = importlib.import_module(COMMANDS[cmd_name])
        command: click.Command = getattr(module, cmd_name.replace("-", "_"))
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; known errors end with their own exit code, faults with a saved trace."""
        try:
            return super().invoke(ctx)
        except WeighbookError as error:
            click.echo(f"weighbook: {error}", err=True)
            ctx.exit(error.exit_code)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except OSError as error:
            if os.environ.get("WEIGHBOOK_DEBUG"):
                raise
            where = f" ({error.filename})" if error.filename else ""
            click.echo(
                f"weighbook: the disk refused: {error.strerror or error}{where}. "
                "What was taken before is safe. Look at room and rights, and try again.",
                err=True,
            )
            ctx.exit(3)
        except Exception:
            if os.environ.get("WEIGHBOOK_DEBUG"):
                raise
            import tempfile
            import traceback

            handle, name = tempfile.mkstemp(prefix="weighbook-fault-", suffix=".txt")
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(f"{' '.join(sys.argv)}\n{traceback.format_exc()}")
            click.echo(
                "weighbook: this is a fault of the program, not of your sheets. What was taken "
                f"before is safe. Send {name} to whoever looks after it.",
                err=True,
            )
            ctx.exit(1)


@click.command(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="weighbook")
def cli() -> None:
    """Weighbook: a coffee cooperative's sheets in, statements that members trust out.

    \b
    A week:  weighbook take BOOK week.csv ...    bring the sheets in
             weighbook flags BOOK                what is doubtful, the costliest first
             weighbook decide BOOK FLAG count --because "the paper says so"
    A close: weighbook issue BOOK --season 2026
    """


def book_argument(command: Any) -> Any:
    """Give a command the argument BOOK: the folder of a book."""
    return click.argument("book", type=click.Path(path_type=Path, file_okay=False))(command)


def rule_option(about: str) -> Any:
    """Give a command the option --rule: a rule by its code, None where it is not given."""

    def known(_: click.Context, option: click.Parameter, value: str | None) -> str | None:
        from checks.rules import BY_CODE

        if value is not None and value not in BY_CODE:
            raise click.BadParameter(f"there is no rule {value!r}. All: weighbook rules")
        return value

    return click.option("--rule", callback=known, help=about)


def json_option(command: Any) -> Any:
    """Give a command the option --json."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON for other programs.")(
        command
    )


def by_option(command: Any) -> Any:
    """Give a command the option --by: who does it, as the journal keeps it."""
    return click.option(
        "--by",
        default=lambda: os.environ.get("WEIGHBOOK_BY") or os.environ.get("USER") or "unnamed",
        help="Who does this; kept in the journal. Default: your login name.",
    )(command)


def main() -> None:
    """Run the command line."""
    try:
        cli()
    finally:
        # Python would look once more through all that was loaded, for what the end frees anyway.
        gc.freeze()
