"""Everything that differs from probe to probe. Change this file, copy it over, restart.

The broker's address, user and password stand on the dashboard's page "Connect a probe".
"""

PROBE = "lower-fridge"  # Letters, digits and - . _ ; it becomes part of the topic.

WIFI_NAME = "the-network"
WIFI_PASSWORD = "change me"

BROKER_HOST = "cave.home.arpa"
BROKER_PORT = 8883
BROKER_USER = "lower-fridge"
BROKER_PASSWORD = "change me"
BROKER_CA_FILE = "ca.der"  # The house's certificate authority; None speaks without TLS.
BROKER_CERTIFICATE_NAME = None  # When the certificate carries another name than BROKER_HOST.
TOPIC_ROOT = "rindwatch"

TIME_HOST = "pool.ntp.org"  # Or the router's address, when the probe may not leave the house.

POWER = "mains"  # "mains" stays connected; "battery" sleeps between readings.
INTERVAL_S = 60  # Seconds between readings.
SEND_EVERY = 1  # On battery: readings collected before the radio is switched on.

HUMIDITY_SENSOR = "sht4x"  # "sht4x", "sht3x" or None.
HEAT_EVERY_H = 24  # 0 never heats.
HEAT_PULSES = 3
SETTLE_S = 900  # After heating no air reading is taken for so long.

SURFACE_SENSOR = False  # A DS18B20.
SURFACE_ROM = None  # Its sixteen hex digits, when several hang on one wire.

DOOR = False  # A magnet contact: closed while the door is closed.

LOAD_CELL = False
LOAD_CELL_ZERO = 0  # Counts with nothing on the shelf.
LOAD_CELL_PER_KG = 100000  # Counts that one kilogram adds.

BATTERY_EMPTY_MV = 3300
BATTERY_FULL_MV = 4500  # Three fresh alkaline cells.
BATTERY = False  # The divider is fitted and the battery is measured.

KEEP_FOLDER = "kept"

PIN_SDA = 21
PIN_SCL = 22
PIN_WIRE = 4
PIN_DOOR = 33
PIN_BATTERY = 34
PIN_LOAD_DATA = 25
PIN_LOAD_CLOCK = 26
