"""`rindwatch backup` and `rindwatch restore`: everything in one file and back; `rindwatch copy`: the nightly one."""

import sys
from pathlib import Path

import click

from collector.settings import Settings

WITH_SECRETS = (
    "It holds passwords and keys: whoever has this file can read the book and pose as this house. Keep it as you keep"
    " a door key."
)
WITHOUT_SECRETS = (
    "Passwords of probes and the certificate's key are not in it: after a restore probes, phones and the certificate"
    " must be set up anew. The addresses that warnings go to are in it all the same."
)
PATH = click.Path(path_type=Path)


@click.command()
@click.argument("file", type=PATH)
@click.option("--without-secrets", is_flag=True, help="Leave out passwords and keys; probes must then be set up anew.")
@click.pass_obj
def backup(settings: Settings, file: Path, without_secrets: bool) -> None:
    """Put everything into FILE while everything runs: readings, records, book, photos, settings."""
    from collector.backup.form import READINGS
    from collector.backup.taking import take
    from collector.clock import SystemClock
    from collector.records.engine import open_prepared

    open_prepared(settings.records_at).dispose()
    made = take(settings, file.absolute(), SystemClock().now(), secrets=not without_secrets)
    readings = made.rows(READINGS, "reading")
    click.echo(f"{file}: {file.stat().st_size / 1e6:.1f} MB, {readings} readings, {made.photos} photos")
    click.echo(WITHOUT_SECRETS if without_secrets else WITH_SECRETS)


@click.command()
@click.argument("file", required=False, type=PATH)
@click.option("--into", type=PATH, help="An empty folder, or one that is not there yet.")
@click.option(
    "--try",
    "only_try",
    is_flag=True,
    help="Restore FILE, or the newest copy, into a scratch folder, compare everything, delete it again.",
)
@click.option("--records-to", help="Also put the records into this empty database, like postgresql+psycopg://...")
@click.option("--quietly", is_flag=True, hidden=True)
@click.pass_obj
def restore(
    settings: Settings, file: Path | None, into: Path | None, only_try: bool, records_to: str | None, quietly: bool
) -> None:
    """Unpack the backup FILE into a folder; a damaged one is refused, and the damaged part named."""
    if only_try and into is None:
        _try(settings, file, quietly)
    elif file is not None and into is not None and not only_try:
        _restore(file, into.absolute(), records_to)
    else:
        raise click.UsageError("say either FILE --into FOLDER, or --try")


def _restore(file: Path, into: Path, records_to: str | None) -> None:
    from collector.backup.form import READINGS, RECORDS
    from collector.backup.restoring import restore as unpack
    from collector.prepare import prepare_apart
    from collector.records.engine import open_records

    if records_to:
        open_records(records_to).dispose()  # a mistyped address is told before anything is unpacked
    made = unpack(file, into)
    prepare_apart(Settings(data=into, records_url=""))
    click.echo(
        f"{into}: as of {made.made_at:%Y-%m-%d %H:%M} UTC, {made.rows(READINGS, 'reading')} readings,"
        f" {made.photos} photos, every part as its checksum says"
    )
    if records_to:
        from collector.backup.rows import copy_into

        copied = copy_into(into / RECORDS, records_to)
        click.echo(f"{copied} rows of the records were put into the database; set RINDWATCH_RECORDS_URL to it")
    click.echo(f"Set RINDWATCH_DATA={into} and start rindwatch; settings.txt there has the settings of then.")


def _try(settings: Settings, file: Path | None, quietly: bool) -> None:
    from collector.backup.trying import try_newest
    from collector.clock import SystemClock
    from collector.records.engine import open_prepared

    if quietly:
        _give_way()
    records = open_prepared(settings.records_at)
    try:
        tried = try_newest(settings, records, SystemClock(), file)
    finally:
        records.dispose()
    if not tried.well:
        click.echo(f"{tried.file.name} cannot be restored: {tried.reason}", err=True)
        sys.exit(1)
    click.echo(
        f"{tried.file.name} was restored and deleted again in {tried.took_s:.0f} s: {tried.parts} parts,"
        f" {tried.tables} tables, {tried.readings} readings and {tried.photos} photos are as they were"
    )


@click.command()
@click.option("--quietly", is_flag=True, hidden=True)
@click.pass_obj
def copy(settings: Settings, quietly: bool) -> None:
    """Make the nightly copy now, and send it to the second place."""
    from collector.backup.errors import CopyUnderWay
    from collector.clock import SystemClock
    from collector.copies import copy_everything
    from collector.records.engine import open_prepared

    if quietly:
        _give_way()
    records = open_prepared(settings.records_at)
    try:
        made, where, reason = copy_everything(settings, records, SystemClock())
    except CopyUnderWay:
        if not quietly:
            raise
        return
    finally:
        records.dispose()
    click.echo(f"{made.path}, {made.bytes / 1e6:.1f} MB" + ("" if made.other_disk else "; it is on the same disk"))
    if reason:
        click.echo(reason, err=True)
        sys.exit(1)
    if where:
        click.echo(f"also at {where}")


def _give_way() -> None:
    """Copies can wait; readings and pages cannot."""
    import os

    if hasattr(os, "nice"):
        os.nice(10)
