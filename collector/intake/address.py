"""Where the broker is and how it lets us in."""

from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from pydantic import SecretStr

from collector.settings import Settings, read_secret

COLLECTOR_USER = "collector"
PROBE_USER = "probe"
COLLECTOR_ID = "rindwatch-collector"  # names the session that a broker keeps for the collector
OWN_TOPICS = "rindwatch/#"
OWN_SPEECH = "rindwatch/-/"  # topics on which rindwatch itself speaks; no probe may be called "-"


@dataclass(frozen=True, slots=True)
class BrokerAddress:
    """Host, port and credentials of an MQTT broker."""

    host: str
    port: int
    user: str | None = None
    password: SecretStr | None = None
    tls: bool = False
    ca_file: Path | None = None
    version: str = "3.1.1"

    def __str__(self) -> str:
        return f"{self.host}:{self.port}"


def broker_address(settings: Settings) -> BrokerAddress:
    """The broker that the settings name, or the embedded one on this machine."""
    if not settings.broker:
        # The embedded broker takes MQTT 3.1.1 on its one port.
        password = settings.secret("collector-password")
        return BrokerAddress("127.0.0.1", settings.mqtt_port, COLLECTOR_USER, password)
    named = urlsplit(f"//{settings.broker}")
    return BrokerAddress(
        host=named.hostname or settings.broker,
        port=named.port or (8883 if settings.broker_tls else 1883),
        user=settings.broker_user or None,
        password=read_secret(settings.broker_password_file, "RINDWATCH_BROKER_PASSWORD_FILE"),
        tls=settings.broker_tls,
        ca_file=settings.broker_ca_file,
        version=settings.mqtt_version,
    )
