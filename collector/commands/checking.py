"""`rindwatch check` and `rindwatch copy`."""

import sys

import click

from collector.settings import Settings


@click.command()
@click.pass_obj
def check(settings: Settings) -> None:
    """Look at settings, disk, broker, store, clock and copies, and say what is wrong."""
    from collector.checkup import look_at

    well = True
    for answer in look_at(settings):
        well = well and answer.well
        click.echo(f"{'well ' if answer.well else 'LOOK '} {answer.about}: {answer.says}")
        if answer.hint:
            click.echo(f"      {answer.hint}")
    sys.exit(0 if well else 1)


@click.command()
@click.pass_obj
def copy(settings: Settings) -> None:
    """Make the nightly copy now."""
    from collector.clock import SystemClock
    from collector.copies import make_copy

    made = make_copy(settings, SystemClock().now())
    click.echo(f"{made.path}, {made.bytes / 1e6:.1f} MB" + ("" if made.other_disk else "; it is on the same disk"))
