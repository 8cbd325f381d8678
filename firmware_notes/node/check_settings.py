"""Says in words which setting cannot work, before anything is started."""

from .faults import BadSettings

NAME_SIGNS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._"
CHOICES = {"POWER": ("mains", "battery"), "HUMIDITY_SENSOR": ("sht4x", "sht3x", None)}
RANGES = {
    "BROKER_PORT": (1, 65535),
    "INTERVAL_S": (5, 3600),
    "SEND_EVERY": (1, 120),
    "HEAT_EVERY_H": (0, 1000),
    "HEAT_PULSES": (1, 20),
    "SETTLE_S": (60, 7200),
    "BATTERY_EMPTY_MV": (2000, 6000),
    "BATTERY_FULL_MV": (2000, 6600),
}
NEEDED = ("WIFI_NAME", "BROKER_HOST", "TIME_HOST", "KEEP_FOLDER", "TOPIC_ROOT")


def check(settings):
    """BadSettings for the first setting that cannot work: its name, its value, what it may be."""
    _check_name(settings.PROBE)
    for name in NEEDED:
        if not getattr(settings, name):
            raise BadSettings("%s must not be empty" % name)
    for name, allowed in CHOICES.items():
        if getattr(settings, name) not in allowed:
            raise BadSettings("%s must be one of %s, got %r" % (name, allowed, getattr(settings, name)))
    for name, (low, high) in RANGES.items():
        value = getattr(settings, name)
        if not isinstance(value, int) or not low <= value <= high:
            raise BadSettings("%s must be from %d to %d, got %r" % (name, low, high, value))
    _check_together(settings)


def _check_name(probe):
    # RFC 8428 section 4.5.1: a name begins with a letter or digit and has few other signs.
    if not 1 <= len(probe) <= 40 or any(sign not in NAME_SIGNS for sign in probe) or probe[0] in "-._":
        raise BadSettings(
            "PROBE must be 1 to 40 letters, digits or - . _ and begin with a letter or digit, got %r" % probe
        )


def _check_together(settings):
    if settings.BATTERY_FULL_MV <= settings.BATTERY_EMPTY_MV:
        raise BadSettings("BATTERY_FULL_MV must be above BATTERY_EMPTY_MV")
    if settings.LOAD_CELL and not settings.LOAD_CELL_PER_KG:
        raise BadSettings("LOAD_CELL_PER_KG must not be 0 when LOAD_CELL is used")
    if settings.LOAD_CELL and settings.POWER == "battery":
        raise BadSettings("LOAD_CELL needs POWER to be mains: its amplifier does not sleep with the board")
    if not (settings.HUMIDITY_SENSOR or settings.SURFACE_SENSOR or settings.DOOR or settings.LOAD_CELL):
        raise BadSettings("no sensor is chosen: HUMIDITY_SENSOR, SURFACE_SENSOR, DOOR and LOAD_CELL are all off")
