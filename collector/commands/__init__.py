"""The collector's commands, one module each; a new one is a module and a row here."""

from collector.commands.backing_up import backup, copy, restore
from collector.commands.checking import check
from collector.commands.collecting import broker, collect
from collector.commands.demonstrating import demo, demo_probes
from collector.commands.keeping import keep
from collector.commands.probe_logins import probe
from collector.commands.replaying import replay
from collector.commands.serving import prepare, serve, service

COMMANDS = [
    demo, demo_probes, serve, prepare, collect, broker, check, replay, copy, backup, restore, keep, probe, service,
]  # fmt: skip
