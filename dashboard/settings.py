"""Settings of the dashboard; the data folder and the listening address are the collector's."""

from pathlib import Path
from typing import Literal
from urllib.parse import urlsplit

from pydantic import Field, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from collector.settings import PREFIX, Settings


class DashboardSettings(BaseSettings):
    """The dashboard's settings; every one has a line in README."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, frozen=True, extra="ignore")

    http_port: int = Field(default=8000, ge=0, le=65535, description="port of the pages over plain http; 0: any free")
    https_port: int = Field(default=8443, ge=0, le=65535, description="port of the pages over https; 0: any free")
    base_address: str = Field(
        default="", description="address that phones use, like https://cave.home.arpa:8443; for QR codes and links"
    )
    trusted_hosts: str = Field(default="", description="more names that this machine is called by, with commas between")
    trusted_proxy: str = Field(default="", description="address of your own reverse proxy, whose headers are believed")
    sign_in: Literal["required", "open-on-loopback"] = Field(
        default="required", description="open-on-loopback: this machine's own browser is the owner; for the demo only"
    )

    metrics_token_file: Path | None = Field(default=None, description="file with the token that opens /metrics")

    @field_validator("base_address")
    @classmethod
    def _an_origin(cls, value: str) -> str:
        value = value.rstrip("/")
        if value and not is_origin(value):
            raise ValueError("must look like https://cave.home.arpa:8443")
        return value

    @property
    def more_hosts(self) -> frozenset[str]:
        return frozenset(name.strip().lower() for name in self.trusted_hosts.split(",") if name.strip())


def is_origin(address: str) -> bool:
    """True for scheme, host and perhaps port, and nothing else."""
    try:
        parts = urlsplit(address)
        port_is_right = parts.port is None or 0 < parts.port < 65536
    except ValueError:
        return False
    bare = not (parts.path or parts.query or parts.fragment or parts.username or parts.password)
    return parts.scheme in {"http", "https"} and bool(parts.hostname) and bare and port_is_right


def cache_folder(settings: Settings) -> Path:
    """Where things are kept that can be made again at any time."""
    return settings.data / "cache"
