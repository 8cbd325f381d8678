"""From (topic, payload) to readings. Other parts of the collector need no more than these names."""

from collector.intake.payloads.decoded import (
    UNTIMED,
    Decoded,
    FieldHint,
    FieldHints,
    ProbeStatus,
    WireReading,
    WireTime,
)
from collector.intake.payloads.formats import FORMATS, decode
from collector.intake.payloads.senml_encode import PackRecord, encode_senml

__all__ = [
    "FORMATS",
    "UNTIMED",
    "Decoded",
    "FieldHint",
    "FieldHints",
    "PackRecord",
    "ProbeStatus",
    "WireReading",
    "WireTime",
    "decode",
    "encode_senml",
]
