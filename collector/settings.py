"""Settings of the collector and the places of its files. Read once in `main` and handed on."""

import os
import secrets
from ipaddress import ip_address
from pathlib import Path
from typing import Literal, TypeVar
from urllib.parse import urlsplit

from pydantic import Field, SecretStr, ValidationError, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from collector.errors import SettingsWrong, StoreUnavailable

PREFIX = "RINDWATCH_"

Chosen = TypeVar("Chosen", bound=BaseSettings)


class Settings(BaseSettings):
    """The collector's settings; every one has a line in README."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, frozen=True, extra="ignore")

    data: Path = Field(default=Path("rindwatch-data"), description="folder for everything that is kept")
    records_url: str = Field(default="", description="database of records and book; empty: a file in data")
    broker: str = Field(default="", description="a broker of your own, host or host:port; empty: embedded")
    broker_user: str = Field(default="", description="name at your own broker")
    broker_password_file: Path | None = Field(default=None, description="file with the password at your own broker")
    broker_tls: bool = Field(default=False, description="speak TLS to your own broker")
    broker_ca_file: Path | None = Field(default=None, description="certificate authority of your own broker")
    mqtt_version: Literal["3.1.1", "5"] = Field(default="5", description="MQTT version spoken to the broker")
    mqtt_port: int = Field(default=1883, ge=0, le=65535, description="port of the embedded broker")
    listen: str = Field(default="0.0.0.0", description="address that the broker and the dashboard listen at")  # noqa: S104
    own_address: str = Field(default="", description="this machine's address in the house; empty: found out")
    notify_url_file: Path | None = Field(default=None, description="file with one Apprise URL a line")
    backup_folder: Path | None = Field(default=None, description="folder for the nightly copy, best on another disk")
    copy_command: str = Field(default="", description="program that sends each copy away; {file} stands for its path")
    log_level: Literal["debug", "info", "warning", "error"] = Field(default="info", description="how much is logged")
    log_format: Literal["text", "json"] = Field(default="text", description="lines for people, or JSON for programs")

    @field_validator("data")
    @classmethod
    def _absolute(cls, value: Path) -> Path:
        return value.expanduser().absolute()

    @field_validator("broker")
    @classmethod
    def _host_and_port(cls, value: str) -> str:
        if value and not is_host_and_port(value):
            raise ValueError("must look like 192.168.1.5 or broker.home.arpa:1883")
        return value

    @field_validator("own_address")
    @classmethod
    def _an_address(cls, value: str) -> str:
        try:
            usable = not value or not (ip_address(value).is_unspecified or ip_address(value).is_loopback)
        except ValueError:
            usable = False
        if not usable:
            raise ValueError("must look like 192.168.7.20")
        return value

    @property
    def readings_path(self) -> Path:
        return self.data / "readings.sqlite3"

    @property
    def records_at(self) -> str:
        return self.records_url or f"sqlite:///{self.data / 'records.sqlite3'}"

    @property
    def import_folder(self) -> Path:
        return self.data / "import"

    @property
    def secrets_folder(self) -> Path:
        return self.data / "secrets"

    def secret(self, name: str) -> SecretStr:
        """A generated secret kept in a file that only the owner may read; made at the first asking.

        Raises:
            StoreUnavailable: the file can neither be read nor made.
        """
        path = self.secrets_folder / name
        try:
            if not path.exists():
                self.secrets_folder.mkdir(parents=True, exist_ok=True, mode=0o700)
                write_secret(path, secrets.token_urlsafe(18))
            return SecretStr(path.read_text().strip())
        except OSError as error:
            raise StoreUnavailable(path, 0, error.strerror or str(error)) from error


def is_host_and_port(address: str) -> bool:
    """True for a host, and perhaps a port from 1 to 65535; an IPv6 address stands in brackets."""
    try:
        parts = urlsplit(f"//{address}")
        port_is_right = parts.port is None or parts.port > 0
    except ValueError:
        return False
    bare = parts.netloc == address and "@" not in address and not address.endswith(":")
    return bool(parts.hostname) and bare and port_is_right


def read_settings(settings_class: type[Chosen]) -> Chosen:
    """The settings of a class from the environment.

    Raises:
        SettingsWrong: a value that cannot be; the first of them is named.
    """
    try:
        return settings_class()
    except ValidationError as error:
        first = error.errors()[0]
        name = PREFIX + "_".join(str(part) for part in first["loc"]).upper()
        raise SettingsWrong(
            name, f"{first['msg'].removeprefix('Value error, ').lower()}, got {first['input']!r}"
        ) from error


def write_secret(path: Path, text: str) -> None:
    """Write a file that only its owner may read."""
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
        file.write(text)


def read_secret(path: Path | None, name: str) -> SecretStr | None:
    """A secret from a file that the person named.

    Raises:
        SettingsWrong: the file cannot be read.
    """
    if path is None:
        return None
    try:
        return SecretStr(path.read_text().strip())
    except OSError as error:
        raise SettingsWrong(name, f"cannot read {path}: {error.strerror}") from error


def refuse_unknown(known: set[str], environment: dict[str, str]) -> None:
    """Stop at a mistyped setting: the settings library would let it pass.

    Raises:
        SettingsWrong: a name with our prefix that no settings class knows.
    """
    for name in sorted(environment):
        upper = name.upper()
        if upper.startswith(PREFIX) and not upper.startswith(PREFIX + "TEST_") and upper not in known:
            raise SettingsWrong(name, "no such setting; README lists them all")


def names_of(settings_class: type[BaseSettings], prefix: str = PREFIX) -> set[str]:
    """The environment names that a settings class knows."""
    return {f"{prefix}{field}".upper() for field in settings_class.model_fields}
