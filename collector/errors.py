"""What can go wrong in the world, as sentences a keeper can act on."""

# CaveError
#   ReadingRejected    topic, reason     set aside and counted, never retried
#   SettingsWrong      name              stops the start
#   StoreUnavailable   path, pending     retried
#     StoreFull
#   SchemaTooNew       path, found, known
#   SchemaOlder        path, found, needed
#   SchemaMissing      path
#   NotPrepared        path, reason
#   RecordsUnavailable at, reason
#   BrokerUnavailable  address           retried
#   WarningNotSent     channel, retry    retried by the outbox
#   EntryRefused       field, text       shown on the form, text kept
#   FollowerTrouble    address, reason   the follower tries again; nothing else waits for it
#     FollowerAway     wait_s
#     FollowerShut
#     BatchTooLarge                      tried again in halves
#     PointsRefused                      searched for the points meant, which are set aside
#   OlderUnavailable   reason            what is kept here is shown all the same


class CaveError(Exception):
    """Anything that the world did, as opposed to a wrong call by us."""

    hint = ""


class ReadingRejected(CaveError):
    """A payload or record that could not be understood; it is set aside and counted."""

    hint = "Look at the message on the probes page and point at the right field."

    def __init__(self, topic: str, reason: str) -> None:
        super().__init__(f"{topic}: {reason}")
        self.topic, self.reason = topic, reason


class SettingsWrong(CaveError):
    """A setting that stops the start."""

    hint = "Mend the setting and start again; README lists every setting."

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(f"{name}: {reason}")
        self.name, self.reason = name, reason


class StoreUnavailable(CaveError):
    """The store did not take a commit; what waits is not acknowledged and will be tried again."""

    hint = "Look at the disk and the folder; a collector that runs tries again by itself."

    def __init__(self, path: object, pending: int, reason: str = "not writable now") -> None:
        super().__init__(f"cannot write to {path}: {reason}{f', {pending} readings wait' if pending else ''}")
        self.path, self.pending, self.reason = path, pending, reason


class StoreFull(StoreUnavailable):
    """The disk under the store is full."""

    hint = "Free space on the data disk; the collector goes on by itself."

    def __init__(self, path: object, pending: int) -> None:
        super().__init__(path, pending, "disk full")


class SchemaTooNew(CaveError):
    """A data folder written by a newer version."""

    hint = "Install the newer version again, or restore a copy made before it."

    def __init__(self, path: object, found: str, known: str) -> None:
        super().__init__(f"{path} was written by a newer version (its form is {found}, known is {known})")
        self.path, self.found, self.known = path, found, known


class SchemaOlder(CaveError):
    """A data folder that no start of this version has brought up to it yet."""

    hint = "Start rindwatch once, or `rindwatch prepare`; it brings the data folder up to this version."

    def __init__(self, path: object, found: str, needed: str) -> None:
        super().__init__(f"{path} was written by an older version (its form is {found}, needed is {needed})")
        self.path, self.found, self.needed = path, found, needed


class SchemaMissing(CaveError):
    """A data folder that no start has prepared yet."""

    hint = "Start rindwatch once; it prepares the data folder."

    def __init__(self, path: object) -> None:
        super().__init__(f"{path} is not prepared yet")
        self.path = path


class NotPrepared(CaveError):
    """The data folder could not be brought up to this version."""

    hint = "Nothing was lost; mend what it says and start again."

    def __init__(self, path: object, reason: str) -> None:
        super().__init__(f"{path} could not be prepared: {reason}")
        self.path, self.reason = path, reason


class RecordsUnavailable(CaveError):
    """The database of the records cannot be opened: a wrong address, no driver for it, or no answer."""

    hint = "Mend that address, RINDWATCH_RECORDS_URL as a rule, or start that database; README says what it looks like."

    def __init__(self, at: str, reason: str) -> None:
        super().__init__(f"the database of the records at {at} cannot be opened: {reason}")
        self.at, self.reason = at, reason


class BrokerUnavailable(CaveError):
    """The MQTT broker does not answer, or does not let us in."""

    hint = "Probes keep what they measured; look at the broker and the network."

    def __init__(self, address: str, reason: str) -> None:
        super().__init__(f"no connection to the broker at {address}: {reason}")
        self.address, self.reason = address, reason


class WarningNotSent(CaveError):
    """A channel did not take a warning; the outbox tries again.

    `wait_s` is the pause that the channel asked for; `gone` says that it will never take anything again.
    """

    hint = "It is tried again for a day; send a test from the page of ways to reach you."

    def __init__(
        self, channel: str, reason: str, *, retry: bool = True, wait_s: float | None = None, gone: bool = False
    ) -> None:
        super().__init__(f"{channel} did not take the message: {reason}")
        self.channel, self.reason, self.retry = channel, reason, retry and not gone
        self.wait_s, self.gone = wait_s, gone


class EntryRefused(CaveError):
    """Something a person typed that cannot be kept as it stands; the form keeps the text."""

    def __init__(self, field: str, text: str) -> None:
        super().__init__(text)
        self.field = field


class FollowerTrouble(CaveError):
    """The database that follows did not do what was asked of it. Readings are kept here all the same."""

    hint = "Readings are kept here; what is missing there is copied as soon as it goes on."

    def __init__(self, address: str, reason: str) -> None:
        super().__init__(f"the database at {address} {reason}")
        self.address, self.reason = address, reason


class FollowerAway(FollowerTrouble):
    """It does not answer, or has no time now; `wait_s` is the pause that it asked for."""

    def __init__(self, address: str, reason: str, wait_s: float | None = None) -> None:
        super().__init__(address, reason)
        self.wait_s = wait_s


class FollowerShut(FollowerTrouble):
    """It answers, and will not let us in or does not know what we name."""

    hint = "Mend the token, organisation or bucket in the settings; rindwatch check --setup makes the bucket."


class BatchTooLarge(FollowerTrouble):
    """It takes fewer points at once."""


class PointsRefused(FollowerTrouble):
    """It will never take some of the points that were sent together."""


class OlderUnavailable(CaveError):
    """Readings that are no longer kept on this machine cannot be had now."""

    hint = "Look at newer days, or try again in a minute."

    def __init__(self, reason: str) -> None:
        super().__init__(f"readings that are no longer kept here cannot be read: {reason}")
        self.reason = reason
