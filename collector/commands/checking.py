"""`rindwatch check`."""

import sys

import click

from collector.settings import Settings


@click.command()
@click.option("--setup", is_flag=True, help="First make the bucket of the database that follows.")
@click.option("--alive", is_flag=True, help="Ask only whether the collector works; for health checks.")
@click.pass_obj
def check(settings: Settings, setup: bool, alive: bool) -> None:
    """Look at settings, disk, broker, store, clock and copies, and say what is wrong."""
    from collector import checkup

    if setup:
        _set_up()
    well = True
    for answer in [checkup.alive(settings)] if alive else checkup.look_at(settings):
        well = well and answer.well
        click.echo(f"{'well ' if answer.well else 'LOOK '} {answer.about}: {answer.says}")
        if answer.hint:
            click.echo(f"      {answer.hint}")
    sys.exit(0 if well else 1)


def _set_up() -> None:
    from collector.readings.follower.look import set_up
    from collector.readings.follower.settings import read_follower_settings

    own = read_follower_settings()
    if not own.is_on:
        raise click.UsageError("--setup is for a database that follows; RINDWATCH_INFLUX_URL names none")
    click.echo(f"done   follower: {set_up(own)}")
