"""`rindwatch keep`: for how long readings are kept one by one."""

from datetime import datetime

import click

from collector.settings import Settings


@click.command()
@click.option("--days", type=click.IntRange(0), help="Keep single readings for so many days; 0 for ever.")
@click.option("--yes", is_flag=True, help="Do it; without this it only says what would go.")
@click.pass_obj
def keep(settings: Settings, days: int | None, yes: bool) -> None:
    """Say for how long readings are kept one by one, and change it; ten-minute means are kept for ever."""
    from contextlib import closing

    from collector.clock import SystemClock
    from collector.instants import to_ms
    from collector.keep_raw import choose, chosen_d
    from collector.readings.retention import LEAST_D, cut_ms, going
    from collector.readings.schema import open_reader
    from collector.records.engine import open_prepared

    if days and days < LEAST_D:
        raise click.UsageError(f"--days must be 0 or at least {LEAST_D}: the rules look back for a month")
    records = open_prepared(settings.records_at)
    try:
        with records.begin() as connection, closing(open_reader(settings.readings_path)) as db:
            now_d = chosen_d(connection)
            if days is None:
                click.echo(f"single readings are kept {f'for {now_d} days' if now_d else 'for ever'}")
                return
            if days:
                found = going(db, cut_ms(to_ms(SystemClock().now()), days))
                click.echo(_told(found.readings, found.of, found.from_ms, found.to_ms, found.mb))
            if not yes:
                click.echo("nothing was changed; say --yes to do it")
                return
            choose(connection, days)
    finally:
        records.dispose()
    click.echo(f"single readings are kept {f'for {days} days; the rest goes bit by bit' if days else 'for ever'}")


def _told(readings: int, of: int, from_ms: int, to_ms: int, mb: float) -> str:
    if not readings:
        return f"none of {of} readings would go"
    first, last = (f"{datetime.fromtimestamp(ms / 1_000).astimezone():%Y-%m-%d %H:%M}" for ms in (from_ms, to_ms))
    return (
        f"{readings} of {of} readings would go, from {first} to {last}, about {mb:.1f} MB;"
        " their ten-minute means stay for ever; it cannot be undone"
    )
