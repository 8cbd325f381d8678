"""Settings of the follower: where its database is, and how it lets us in."""

from pathlib import Path

from pydantic import Field, SecretStr, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from collector.errors import SettingsWrong
from collector.settings import PREFIX, read_secret, read_settings


class FollowerSettings(BaseSettings):
    """The follower's settings; without an address nothing follows, and nothing of it is loaded."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, frozen=True, extra="ignore")

    influx_url: str = Field(default="", description="InfluxDB 2 that gets a copy of all readings; empty: none")
    influx_org: str = Field(default="", description="organisation there")
    influx_bucket: str = Field(default="rindwatch", description="bucket there")
    influx_token_file: Path | None = Field(default=None, description="file with the token")
    influx_keep_days: int = Field(default=0, ge=0, le=36_500, description="days that the bucket keeps; 0: for ever")
    influx_history: bool = Field(default=False, description="show from there what is no longer kept here")

    @field_validator("influx_url")
    @classmethod
    def _http(cls, value: str) -> str:
        value = value.strip().rstrip("/")
        if value and not value.startswith(("http://", "https://")):
            raise ValueError("must look like http://influxdb:8086")
        return value

    @property
    def is_on(self) -> bool:
        return bool(self.influx_url)

    @property
    def token(self) -> SecretStr | None:
        """The token, read anew at each asking, since somebody may have mended the file.

        Raises:
            SettingsWrong: the file cannot be read.
        """
        return read_secret(self.influx_token_file, "RINDWATCH_INFLUX_TOKEN_FILE")


def read_follower_settings() -> FollowerSettings:
    """The follower's settings from the environment.

    Raises:
        SettingsWrong: a value that cannot be, or an address without the rest.
    """
    found = read_settings(FollowerSettings)
    if found.is_on and not found.influx_org:
        raise SettingsWrong("RINDWATCH_INFLUX_ORG", "is needed beside RINDWATCH_INFLUX_URL")
    if found.is_on and found.influx_token_file is None:
        raise SettingsWrong("RINDWATCH_INFLUX_TOKEN_FILE", "is needed beside RINDWATCH_INFLUX_URL")
    return found
