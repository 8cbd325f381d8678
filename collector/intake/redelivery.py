"""Which messages the broker hands over a second time after a reconnect; pure.

MQTT promises at least once. The DUP flag and the packet id are no key of a message (MQTT 5.0, MQTT-4.3.2-5), and a
broker may number and flag a second delivery anew (the embedded one does: seen with iotcore 0.4.0). What every broker
keeps is the order: it begins with the messages that it holds no acknowledgement for, oldest first. Those that we had
stored before are therefore the end of what we stored, at the beginning of what comes now.
"""

import hashlib
from collections.abc import Sequence

Known = tuple[str, bytes]  # topic and digest


def digest(payload: bytes) -> bytes:
    """What stands for a payload while its acknowledgement is under way."""
    return hashlib.blake2b(payload, digest_size=16).digest()


def repeated(stored: Sequence[Known], now: Sequence[Known]) -> int:
    """How many of the first messages now were stored before the connection broke.

    Args:
        stored: messages stored but perhaps not acknowledged, in order of arrival.
        now: messages in the order in which they came since the reconnect.
    Returns:
        The greatest j for which the first j messages now are the last j stored.
    """
    for j in range(min(len(stored), len(now)), 0, -1):
        if list(now[:j]) == list(stored[-j:]):
            return j
    return 0
