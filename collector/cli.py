"""The command line. Commands of the dashboard join through entry points, since the collector does not know it."""

import errno
import os
import sys
from importlib.metadata import entry_points
from typing import Any

import click

from collector import logs
from collector.errors import CaveError
from collector.settings import Settings, names_of, read_settings, refuse_unknown
from collector.supervisor import SUPERVISOR

COMMANDS = "rindwatch.commands"  # each entry point is a list of click commands
SETTINGS = "rindwatch.settings"  # each entry point is a settings class with our prefix

# What a folder of the person's own choosing may answer; anything else that a system call says is a fault of ours.
SHUT = {errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOSPC, errno.EDQUOT, errno.ENOTDIR, errno.EEXIST}
SHUT_HINT = "Mend the owner and the rights of that folder, free space, or name another one."


class Group(click.Group):
    """Shows what the world did as one sentence and what to do about it, never a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except CaveError as error:
            click.echo(f"{error}\n{error.hint}".strip(), err=True)
            sys.exit(1)
        except OSError as error:
            if error.errno not in SHUT or error.filename is None:
                raise
            click.echo(f"cannot use {error.filename}: {error.strerror}\n{SHUT_HINT}", err=True)
            sys.exit(1)


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="rindwatch")
@click.pass_context
def main(context: click.Context) -> None:
    """Watches the air of a cheese cave and keeps the book of its wheels."""
    classes = [point.load() for point in entry_points(group=SETTINGS)]
    refuse_unknown({SUPERVISOR}.union(*map(names_of, classes)), dict(os.environ))
    # All of them at once: a part that finds its own value wrong later would be started over and over.
    for settings_class in classes:
        read_settings(settings_class)
    context.obj = read_settings(Settings)
    logs.begin(context.obj.log_level, context.obj.log_format)


def add_commands() -> None:
    """Our own commands and those of other packages."""
    for point in sorted(entry_points(group=COMMANDS), key=lambda p: p.name):
        for command in point.load():
            main.add_command(command)


add_commands()

if __name__ == "__main__":
    main()
