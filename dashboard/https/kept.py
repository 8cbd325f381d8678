"""The certificate's files, and what they are good for; readable without the library that makes them."""

import json
import ssl
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path

from collector.errors import CaveError
from collector.settings import Settings
from dashboard.https.scope import Scope

RENEW_BEFORE = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Places:
    """Where the files lie: the authority's key among the secrets, the rest in a folder of their own."""

    folder: Path
    authority_key: Path

    @property
    def authority(self) -> Path:
        return self.folder / "authority.pem"

    @property
    def certificate(self) -> Path:
        return self.folder / "certificate.pem"

    @property
    def key(self) -> Path:
        return self.folder / "key.pem"

    @property
    def facts(self) -> Path:
        return self.folder / "certificate.json"


def places(settings: Settings) -> Places:
    return Places(settings.data / "tls", settings.secrets_folder / "authority-key.pem")


@dataclass(frozen=True, slots=True)
class Kept:
    """A certificate that is in place, and the authority behind it; `host` is the best name or address in it."""

    host: str
    names: tuple[str, ...]
    addresses: tuple[str, ...]
    ends_at: datetime
    authority_ends_at: datetime
    scope: Scope

    def is_due(self, now_at: datetime, addresses: list[str]) -> bool:
        """True when it ends soon, or this machine has an address that is missing in it and may stand there."""
        new = [a for a in addresses if a not in self.addresses and self.scope.covers_address(a)]
        return bool(new) or self.ends_at - now_at < RENEW_BEFORE

    def text(self) -> str:
        facts = asdict(self)
        facts |= {"ends_at": self.ends_at.isoformat(), "authority_ends_at": self.authority_ends_at.isoformat()}
        return json.dumps(facts, indent=1)


class CertificateUnreadable(CaveError):
    """The note of what the certificate is good for was changed by somebody else."""

    hint = "Run rindwatch tls --new-authority, then install the new certificate on each phone again."

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} cannot be read")
        self.path = path


def kept(settings: Settings) -> Kept | None:
    """The certificate in place, None when there is none.

    Raises:
        CertificateUnreadable: its note is damaged.
    """
    path = places(settings).facts
    try:
        facts = json.loads(path.read_text())
        scope = Scope(tuple(facts["scope"]["domains"]), tuple(facts["scope"]["networks"]))
        return Kept(
            facts["host"], tuple(facts["names"]), tuple(facts["addresses"]), datetime.fromisoformat(facts["ends_at"]),
            datetime.fromisoformat(facts["authority_ends_at"]), scope,
        )  # fmt: skip
    except FileNotFoundError:
        return None
    except (ValueError, KeyError, TypeError) as error:
        raise CertificateUnreadable(path) from error


def authority_der(settings: Settings) -> bytes | None:
    """The authority's certificate as phones take it; it is no secret."""
    try:
        return ssl.PEM_cert_to_DER_cert(places(settings).authority.read_text())
    except FileNotFoundError:
        return None
