"""The dashboard's commands; each loads what it needs when it runs, for the others must stay small."""

import os
from datetime import datetime

import click

from collector.settings import Settings, read_settings

GIVES_WAY = 10  # of 19


@click.command()
@click.pass_obj
def dashboard(settings: Settings) -> None:
    """Serve the pages, over http and, once there is a certificate, over https."""
    from dashboard.serving import run
    from dashboard.settings import DashboardSettings

    run(settings, read_settings(DashboardSettings))


@click.group()
def person() -> None:
    """Look after the people who sign in."""


@person.command()
@click.argument("name", required=False)
@click.pass_obj
def reset(settings: Settings, name: str | None) -> None:
    """Print a new one-time link to set a password: the owner's, or that of the person NAME."""
    from dashboard.people.resetting import reset_link

    click.echo(f"Open this within 24 hours, from any phone or computer in the house:\n  {reset_link(settings, name)}")


@click.command()
@click.option("--name", "names", multiple=True, help="A further name of this machine, like cave.home.arpa.")
@click.option("--new-authority", is_flag=True, help="Begin anew; each phone must then be set up again.")
@click.option("--show", is_flag=True, help="Only show the way for the phone again; nothing is made.")
@click.pass_obj
def tls(settings: Settings, names: tuple[str, ...], new_authority: bool, show: bool) -> None:
    """Make the certificate for https, and show phones the way to it."""
    from dashboard.https.showing import make_and_tell, tell

    click.echo(tell(settings) if show else make_and_tell(settings, names, new_authority))


@click.command("demo-book", hidden=True)
@click.pass_obj
def demo_book(settings: Settings) -> None:
    """Write the wheel book of the invented dairy; the demo starts this once."""
    from collector.demo.diary import DIARY
    from dashboard.demo_book.fill import fill

    if not (settings.data / DIARY).exists():
        raise click.ClickException(f"There is no demo in {settings.data}. Start one with: rindwatch demo")
    # The pages and the probes come first; where a system knows no such thing, they share.
    if hasattr(os, "nice"):
        os.nice(GIVES_WAY)
    fill(settings)


@click.command()
@click.argument("wheel", required=False)
@click.option("--under", default="", help="A covering to think of, such as barrier_bag.")
@click.option("--aim", type=float, help="What it should have lost by its ready day, percent.")
@click.option("--on", "on", type=click.DateTime(["%Y-%m-%d"]), help="Its ready day.")
@click.option("--keep", "keeps", is_flag=True, help="Foretell all that wait for it, and compare what came due.")
@click.option("--try-past", "tries", is_flag=True, help="Foretell from past days, and compare with what came then.")
@click.pass_obj
def weight(
    settings: Settings, wheel: str | None, under: str, aim: float | None, on: datetime | None, keeps: bool, tries: bool
) -> None:
    """Say what WHEEL (its code or label) will weigh, when to cover it, and where it would do better."""
    from dashboard.weights.command import keep_now, say, try_past_now

    if not (keeps or tries or wheel):
        raise click.UsageError("Name a wheel, like: rindwatch weight 24-07B")
    if (keeps or tries) and hasattr(os, "nice"):
        os.nice(GIVES_WAY)
    for asked, work in ((keeps, keep_now), (tries, try_past_now)):
        if asked:
            click.echo(work(settings))
    if wheel:
        click.echo(say(settings, wheel, under, aim, on.date() if on else None))


@click.command()
@click.argument("note", metavar="NOTE|WHEEL")
@click.pass_obj
def lookback(settings: Settings, note: str) -> None:
    """Say what was different about the air before a rind note: NOTE is its id, WHEEL a code or label."""
    from dashboard.lookback_command import say

    click.echo(say(settings, note))


COMMANDS = [dashboard, person, tls, demo_book, weight, lookback]
