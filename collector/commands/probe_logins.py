"""`rindwatch probe`: passwords with which probes come to the broker."""

from pathlib import Path

import click

from collector.settings import Settings

EMBEDDED = (
    "The embedded broker has one user for all probes and cannot hold a probe to its own topics.\n"
    "`rindwatch probe rotate` gives all of them a new password; for one each, use Mosquitto and name its --file."
)


@click.group()
def probe() -> None:
    """Look after the passwords with which probes come to the broker."""


@probe.command()
@click.argument("name")
@click.option("--file", "passwords", type=click.Path(path_type=Path, dir_okay=False), help="Mosquitto's password file.")
@click.pass_obj
def login(settings: Settings, name: str, passwords: Path | None) -> None:
    """Make a password of its own for the probe NAME, or a new one in place of the old, at a Mosquitto broker."""
    from collector.intake.probe_logins import new_login, put_login

    if passwords is None and not settings.broker:
        raise click.ClickException(EMBEDDED)
    made = new_login(name)
    was = put_login(made, passwords) if passwords is not None else False
    click.echo(f"user: {made.name}\npassword: {made.password}\nTell them to the probe; the password is kept nowhere.")
    if passwords is None:
        click.echo(f"\nA line for Mosquitto's password file:\n{made.password_line}")
    else:
        click.echo(f"\nWritten into {passwords}{', in place of the one before' if was else ''}.")
    click.echo(f"\nLines for its acl file, unless it has `pattern write rindwatch/%u/readings`:\n{made.access_lines}")
    click.echo("\nThen let Mosquitto read its files again: SIGHUP, or docker compose kill -s SIGHUP broker")


@probe.command()
@click.pass_obj
def rotate(settings: Settings) -> None:
    """Give the embedded broker's user `probe` a new password; every probe has to be told."""
    import secrets

    from collector.settings import write_secret

    if settings.broker:
        raise click.ClickException("The settings name a broker of your own: rindwatch probe login NAME --file FILE")
    password = secrets.token_urlsafe(18)
    settings.secrets_folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_secret(settings.secrets_folder / "probe-password", password)
    click.echo(f"password: {password}\nIt holds once rindwatch is started again; until then the old one does.")
