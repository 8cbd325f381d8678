"""From a channel in the records to one that can send: with our keys, the broker's address, the settings' file."""

import os
from typing import Any

from pydantic import SecretStr

from collector.errors import CaveError, WarningNotSent
from collector.intake.address import broker_address
from collector.notify.channels import FROM_FILE, ChannelRow, file_urls
from collector.notify.child import DEADLINE_S, ChildChannel
from collector.notify.push_keys import TEST_CA, private_key
from collector.settings import Settings

BEAT_DEADLINE_S = 12.0  # our choice: a warning must not wait long behind a heartbeat


class Maker:
    """Makes channels; called again for each message, so that a changed file or key counts at once."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings

    def __call__(self, row: ChannelRow) -> ChildChannel:
        """The channel of a row.

        Raises:
            WarningNotSent: something that it needs is not there.
        """
        try:
            return ChildChannel(
                row.kind, row.name, self._options(row), BEAT_DEADLINE_S if row.kind == "heartbeat" else DEADLINE_S
            )
        except (CaveError, OSError) as error:
            raise WarningNotSent(row.name, str(error)) from error

    def _options(self, row: ChannelRow) -> dict[str, Any]:
        options = dict(row.options)
        if options.pop(FROM_FILE, False):
            url = file_urls(self._settings.notify_url_file).get(row.mark or "")
            if url is None:
                raise WarningNotSent(row.name, "its line is not in the settings' file now")
            options["url"] = url
        if row.kind == "push":
            options |= {"key": private_key(self._settings), "test_ca": os.environ.get(TEST_CA)}
        if row.kind == "mqtt":
            options |= self._broker()
        return options

    def _broker(self) -> dict[str, Any]:
        address = broker_address(self._settings)
        password = address.password.get_secret_value() if isinstance(address.password, SecretStr) else None
        return {
            "host": address.host, "port": address.port, "user": address.user, "password": password,
            "tls": address.tls, "ca_file": str(address.ca_file) if address.ca_file else None,
            "version": address.version,
        }  # fmt: skip
