"""`rindwatch serve`: everything that a home needs, under one supervisor."""

import getpass
import sys
from pathlib import Path

import click

from collector.settings import Settings

UNIT = """\
# Save as /etc/systemd/system/rindwatch.service, then:
#   sudo systemctl daemon-reload && sudo systemctl enable --now rindwatch
[Unit]
Description=rindwatch, the cheese cave's watch
After=network-online.target time-sync.target
Wants=network-online.target

[Service]
User={user}
WorkingDirectory={folder}
Environment=RINDWATCH_DATA={data}
ExecStart={program} serve
Restart=always
RestartSec=5
KillMode=mixed
TimeoutStopSec=30
NoNewPrivileges=yes
PrivateTmp=yes

[Install]
WantedBy=multi-user.target
"""


@click.command()
@click.pass_obj
def serve(settings: Settings) -> None:
    """Run broker, collector and dashboard for real use."""
    from collector.prepare import prepare_apart
    from collector.supervisor import Part, stop_on_signals, supervise

    stop = stop_on_signals()
    prepare_apart(settings)
    own_broker = [] if settings.broker else [Part("broker", ["-m", "collector.cli", "broker"])]
    parts = [
        *own_broker,
        Part("collector", ["-m", "collector.cli", "collect"]),
        Part("dashboard", ["-m", "collector.cli", "dashboard"]),
    ]
    supervise(parts, stop)


@click.command()
@click.pass_obj
def prepare(settings: Settings) -> None:
    """Make the data folder and bring it up to this version."""
    from collector.prepare import prepare as run

    run(settings)


@click.command()
@click.pass_obj
def service(settings: Settings) -> None:
    """Print the systemd unit that starts rindwatch at boot."""
    program = Path(sys.executable).with_name("rindwatch")
    click.echo(UNIT.format(user=getpass.getuser(), folder=settings.data.parent, data=settings.data, program=program))
