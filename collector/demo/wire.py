"""What the demo's probes say, as SenML on the wire."""

from collector.demo.publishing import ProbeMessage
from collector.intake.payloads import PackRecord, encode_senml


def topic_of(message: ProbeMessage) -> str:
    return f"rindwatch/{message.probe}/readings"


def payload_of(message: ProbeMessage) -> bytes:
    """One message as a SenML pack with an absolute time."""
    records = [PackRecord(name, value, unit) for name, value, unit in message.fields]
    return encode_senml(records, base_name=f"{message.probe}/", base_time_s=message.taken_ms / 1_000)


def line_of(message: ProbeMessage) -> bytes:
    """The same as a line of an old log."""
    return b'["%b",%b]\n' % (topic_of(message).encode(), payload_of(message))
