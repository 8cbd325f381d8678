"""`rindwatch collect` and `rindwatch broker`: the parts that a supervisor runs, also for running singly."""

import click

from collector.settings import Settings


@click.command()
@click.pass_obj
def collect(settings: Settings) -> None:
    """Take readings in from the broker, judge them and send warnings."""
    from collector.collect import Collector
    from collector.prepare import prepare_apart
    from collector.supervisor import end_with_supervisor, stop_on_signals

    stop = stop_on_signals()
    end_with_supervisor(stop)
    prepare_apart(settings)
    Collector(settings).run(stop)


@click.command()
@click.pass_obj
def broker(settings: Settings) -> None:
    """Run the embedded MQTT broker."""
    from threading import Event

    from collector.intake.embedded import run
    from collector.supervisor import end_with_supervisor

    settings.secrets_folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    end_with_supervisor(Event())
    run(settings)
