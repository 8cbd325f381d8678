"""The rules about probes' silence and about rindwatch itself, one row each; a new one joins here.

They are judged by arrival and by the clock, as things stand now, and never replayed.
"""

from dataclasses import dataclass

from collector.rules.model import Severity


@dataclass(frozen=True, slots=True)
class VigilRule:
    """A rule of the vigil.

    Args:
        name: as it stands in the records; never changed once released.
        word: what a person reads, after the name of the probe or of rindwatch.
        severity: how loud its warning is.
        likely, first: what usually causes it, and what to try first; common practice.
        over: what is said when it is over.
        settles: its all-clear waits until it is plain how the caves took it.
    """

    name: str
    word: str
    severity: Severity
    likely: str
    first: str
    over: str
    settles: bool = False


PROBE_SILENT = VigilRule(
    "probe_silent",
    "silent",
    "warn",
    "an empty battery, or it lost the Wi-Fi",
    "change its battery, or hang it nearer to the router",
    "heard again",
)
NOTHING_HEARD = VigilRule(
    "nothing_heard",
    "no probe heard",
    "warn",
    "a power cut, or the network is down",
    "look whether the router has power",
    "probes are heard again",
    settles=True,
)
BROKER_LOST = VigilRule(
    "broker_lost",
    "no connection to the probes' broker",
    "warn",
    "the broker's machine is off, or its password has changed",
    "look whether the broker's machine and the network are on",
    "the probes' broker is back",
    settles=True,
)
STORE_REFUSING = VigilRule(
    "store_refusing",
    "readings cannot be kept",
    "urgent",
    "the disk is full or worn out",
    "free space on the data disk; probes send again what was not kept",
    "readings are kept again",
)
DISK_LOW = VigilRule(
    "disk_low",
    "disk nearly full",
    "warn",
    "copies or photos on the same disk",
    "move old copies to another disk",
    "there is room on the disk again",
)
CLOCK_ASTRAY = VigilRule(
    "clock_astray",
    "this machine's clock was wrong",
    "warn",
    "a machine without a clock battery, started without network",
    "turn on network time; readings around that moment may stand at a wrong time",
    "this machine's clock was wrong",
)
PROBE_CLOCK = VigilRule(
    "probe_clock",
    "its clock is ahead",
    "warn",
    "it has not found the time in the network",
    "pull its plug for ten seconds; what it says is set aside until its clock is right",
    "its clock is right again",
)
COPY_OLD = VigilRule(
    "copy_old",
    "no fresh copy",
    "warn",
    "the disk for copies is not plugged in or is full",
    "look at the folder for copies",
    "there is a fresh copy",
)
COPY_FAILED = VigilRule(
    "copy_failed",
    "no copy could be made",
    "warn",
    "the disk for copies is full, or is not plugged in",
    "look at the page of copies, under Settings, which says why; it is tried again each hour",
    "a copy was made again",
)
COPY_NOT_SENT = VigilRule(
    "copy_not_sent",
    "the newest copy did not reach the second place",
    "warn",
    "the other machine is off, or its disk is full or not plugged in",
    "look at the page of copies, under Settings, which says why; the copy here is whole",
    "the newest copy is at the second place too",
)
TRIAL_FAILED = VigilRule(
    "trial_failed",
    "a copy could not be restored on trial",
    "warn",
    "the disk for copies is wearing out, or this one is too full for a trial",
    "make a new copy on the page of copies, under Settings; it is tried within a day",
    "a copy was restored on trial again",
)
SECOND_STORE_BEHIND = VigilRule(
    "second_store_behind",
    "second store of readings behind",
    "warn",
    "its machine is off, full, or no longer lets this one in",
    "look whether its machine is on; nothing is lost, what is missing there is kept here",
    "the second store of readings is complete again",
)
COLLECTOR_SILENT = VigilRule(
    "collector_silent",
    "the watch has stopped",
    "urgent",
    "its machine is overloaded, or a part of rindwatch cannot start",
    "start rindwatch again; rindwatch check says what is wrong",
    "the watch goes on",
)

VIGIL_RULES: dict[str, VigilRule] = {
    rule.name: rule
    for rule in (
        PROBE_SILENT,
        NOTHING_HEARD,
        BROKER_LOST,
        STORE_REFUSING,
        DISK_LOW,
        CLOCK_ASTRAY,
        PROBE_CLOCK,
        COPY_OLD,
        COPY_FAILED,
        COPY_NOT_SENT,
        TRIAL_FAILED,
        SECOND_STORE_BEHIND,
        COLLECTOR_SILENT,
    )
}
