"""`rindwatch replay`: what a span of time would have raised, with other targets, or as it was lived."""

from datetime import UTC, datetime

import click

from collector.settings import Settings

TIME = click.DateTime(["%Y-%m-%d", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"])


@click.command()
@click.option("--from", "from_at", type=TIME, required=True, help="Begin, in UTC: 2026-03-01 or 2026-03-01T06:00.")
@click.option("--to", "to_at", type=TIME, required=True, help="End, in UTC.")
@click.option("--place", help="Only this place, by its name.")
@click.option("--temperature", nargs=2, type=float, help="Another band in degrees C: LOW HIGH.")
@click.option("--humidity", nargs=2, type=click.FloatRange(0, 100), help="Another band in %: LOW HIGH.")
@click.option("--grace", type=click.IntRange(0, 1440), help="Another grace in minutes.")
@click.option("--as-lived", is_flag=True, help="What was warned of then, and when it was found, instead.")
@click.pass_obj
def replay(
    settings: Settings,
    from_at: datetime,
    to_at: datetime,
    place: str | None,
    temperature: tuple[float, float] | None,
    humidity: tuple[float, float] | None,
    grace: int | None,
    as_lived: bool,
) -> None:
    """Judge a span of the past again, without writing or sending anything."""
    from collector.replaying import Asked, lived, replayed

    span = (from_at.replace(tzinfo=UTC), to_at.replace(tzinfo=UTC))
    if span[0] >= span[1]:
        raise click.UsageError(f"--from must be before --to, got {from_at:%Y-%m-%d %H:%M} and {to_at:%Y-%m-%d %H:%M}")
    for name, band in (("--temperature", temperature), ("--humidity", humidity)):
        if band is not None and band[0] >= band[1]:
            raise click.UsageError(f"{name} needs the low end first, got {band[0]:g} {band[1]:g}")
    asked = Asked(*span, place, temperature, humidity, grace)
    if as_lived and (temperature or humidity or grace is not None):
        raise click.UsageError("--as-lived tells what was; it cannot be had with other targets")
    try:
        lines = list(lived(settings, asked) if as_lived else replayed(settings, asked))
    except LookupError as error:
        raise click.UsageError(str(error)) from error
    click.echo("\n".join(lines) or "nothing")
