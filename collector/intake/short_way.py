"""The collector's way to the embedded broker: past the door, straight to the broker's own port on this machine.

All that it takes comes over this connection; through the door each byte would pass twice.
"""

from collector.settings import Settings

NAME = "broker-port"


def keep_short_way(settings: Settings, port: int) -> None:
    """Write down the broker's own port, whole or not at all; it can be made again, so no backup has it."""
    path = settings.data / "cache" / NAME
    path.parent.mkdir(parents=True, exist_ok=True)
    half = path.with_name(f"{NAME}.part")
    half.write_text(str(port))
    half.replace(path)


def forget_short_way(settings: Settings) -> None:
    """A broker that begins has another port than the one before."""
    (settings.data / "cache" / NAME).unlink(missing_ok=True)


def short_way(settings: Settings) -> int:
    """The port by which the collector reaches the embedded broker now: its own, else the public one."""
    try:
        return int((settings.data / "cache" / NAME).read_text())
    except (OSError, ValueError):
        return settings.mqtt_port
