"""From readings to what goes over the air: SenML (RFC 8428) and the status message.

A value is a whole number of its smallest step (0.01 C, 1 g), never a float: the board's floats have
six good digits, which is too few for a time in seconds and makes 11.99 out of 12 in the wrong moment.
"""

import json
import struct

# (name, SenML unit or None for yes/no, decimals). The place in this table is what flash stores, so
# new quantities go to the end and nothing is ever taken out.
QUANTITIES = (
    ("temperature", "Cel", 2),
    ("humidity", "%RH", 2),
    ("surface_temperature", "Cel", 4),
    ("weight", "kg", 3),
    ("door", None, 0),
    ("battery", "%EL", 0),
    ("battery_voltage", "V", 3),
    ("signal", "dBm", 0),
)
TEMPERATURE, HUMIDITY, SURFACE_TEMPERATURE, WEIGHT, DOOR, BATTERY, BATTERY_VOLTAGE, SIGNAL = range(8)

HEAD = "<IIIB"  # boot id, sequence number, clock at the reading, number of records
RECORD = "<Bi"
HEAD_BYTES, RECORD_BYTES = struct.calcsize(HEAD), struct.calcsize(RECORD)
AT_THE_LATEST = '{"n":"time","vs":"at the latest"}'


def to_bytes(boot, seq, stamp, records):
    """A message as flash keeps it; `records` are (quantity, whole number of steps)."""
    parts = [struct.pack(HEAD, boot, seq, stamp, len(records))]
    parts += [struct.pack(RECORD, quantity, steps) for quantity, steps in records]
    return b"".join(parts)


def from_bytes(data):
    """(boot, seq, stamp, records) of a message from flash."""
    boot, seq, stamp, count = struct.unpack_from(HEAD, data, 0)
    places = range(HEAD_BYTES, HEAD_BYTES + count * RECORD_BYTES, RECORD_BYTES)
    return boot, seq, stamp, [struct.unpack_from(RECORD, data, place) for place in places]


def number(steps, decimals):
    """Whole steps as a decimal number: number(-625, 4) is -0.0625."""
    sign = "-" if steps < 0 else ""
    if not decimals:
        return sign + str(abs(steps))
    whole, part = divmod(abs(steps), 10**decimals)
    return "%s%d.%0*d" % (sign, whole, decimals, part)


def record(quantity, steps, age_s=None):
    """One SenML record; with an age it says how long ago, as a negative time."""
    name, unit, decimals = QUANTITIES[quantity]
    fields = ['"n":"%s"' % name]
    if unit is None:
        fields.append('"vb":true' if steps else '"vb":false')
    else:
        fields.append('"u":"%s"' % unit)
        fields.append('"v":' + number(steps, decimals))
    if age_s:
        fields.append('"t":%d' % -age_s)
    return "{%s}" % ",".join(fields)


def senml(probe, boot, seq, records, taken_at=None, age_s=0, at_the_latest=False):
    """A pack as text: absolute when `taken_at` (seconds since 1970) is known, else with its age."""
    base = '"bn":"%s/",' % probe
    if taken_at is not None:
        base += '"bt":%d,' % taken_at
        age_s = 0
    parts = ['{%s"n":"boot","vs":"%08x"}' % (base, boot), '{"n":"seq","v":%d}' % seq]
    if at_the_latest:
        parts.append(AT_THE_LATEST)
    parts += [record(quantity, steps, age_s) for quantity, steps in records]
    return "[%s]" % ",".join(parts)


def status(state, **facts):
    """The status message as text; facts that are not known are left out."""
    told = {"state": state}
    told.update({name: fact for name, fact in facts.items() if fact is not None})
    return json.dumps(told)
