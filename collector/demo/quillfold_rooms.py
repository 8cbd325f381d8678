"""The rooms of Quillfold, an invented dairy: how its cellar, its two fridges and its lidded box are built.

The sizes are those of a home dairy; the numbers were tuned until the air behaved as caves do: a fridge swings by
one to two kelvins and some ten points of humidity every half hour, a vaulted cellar moves with the season.
"""

from collector.demo.openings import Visit
from collector.demo.rooms import Cooler, Humidifier, Room

CELLAR = "cellar"
WASHED_FRIDGE = "washed fridge"
COLD_FRIDGE = "cold fridge"
BOX = "lidded box"
COUNTER = "drying counter"
OUTSIDE = "outside"

# Minutes before midnight UTC in which the timer plugs rest both compressors, so that the plates thaw.
REST_MIN = 40

ROOMS = (
    Room(
        name=CELLAR,
        volume_m3=42.0,
        air_j_k=160_000.0,
        contents_j_k=900_000.0,
        contents_w_k=60.0,
        skin_j_k=3_600_000.0,
        skin_w_k=70.0,
        behind_w_k=75.0,
        ground_w_k=110.0,
        leak_m3_s=1.5e-3,
        summer_leak=0.2,
        door_m3_s=0.035,
        ajar_m3_s=0.02,
        boards_m3_s=9e-3,
        boards_kg=3.0,
        wet_m3_s=6e-3,
        wet_activity=0.78,
        seep_m3_s=5e-2,
        start_c=11.4,
        start_pct=88.0,
        fan_w=4.0,
        vented_outside=True,
        humidifier=Humidifier(most_kg_h=0.2, setting_pct=92.5, band_pct=12.0, tank_kg=4.0),
    ),
    Room(
        name=WASHED_FRIDGE,
        volume_m3=0.28,
        air_j_k=3_800.0,
        contents_j_k=55_000.0,
        contents_w_k=8.0,
        skin_j_k=12_000.0,
        skin_w_k=6.0,
        behind_w_k=2.8,
        leak_m3_s=3e-5,
        door_m3_s=6e-3,
        ajar_m3_s=9e-3,
        boards_m3_s=6e-3,
        boards_kg=0.7,
        wet_m3_s=2e-4,
        wet_activity=1.0,
        start_c=12.2,
        start_pct=92.0,
        fan_w=6.0,
        cooler=Cooler(power_w=75.0, target_c=12.0, band_k=0.65, plate_w_k=4.5, plate_j_k=2_800.0, rest_min=REST_MIN),
        humidifier=Humidifier(most_kg_h=0.045, setting_pct=99.0, band_pct=12.0, tank_kg=0.9),
    ),
    Room(
        name=COLD_FRIDGE,
        volume_m3=0.31,
        air_j_k=4_800.0,
        contents_j_k=60_000.0,
        contents_w_k=9.0,
        skin_j_k=12_000.0,
        skin_w_k=6.0,
        behind_w_k=1.9,
        leak_m3_s=2e-5,
        door_m3_s=6e-3,
        ajar_m3_s=7e-3,
        boards_m3_s=6e-3,
        boards_kg=0.6,
        wet_m3_s=1.3e-3,
        wet_activity=1.0,
        start_c=6.8,
        start_pct=88.0,
        fan_w=3.0,
        cooler=Cooler(power_w=85.0, target_c=6.6, band_k=0.8, plate_w_k=5.0, plate_j_k=3_000.0, rest_min=REST_MIN),
    ),
    Room(
        name=BOX,
        volume_m3=0.018,
        air_j_k=1_500.0,
        contents_j_k=8_000.0,
        contents_w_k=0.9,
        skin_j_k=900.0,
        skin_w_k=0.5,
        behind_w_k=0.9,
        leak_m3_s=1.1e-4,
        door_m3_s=2e-3,
        ajar_m3_s=5e-4,
        boards_m3_s=1e-4,
        boards_kg=0.03,
        wet_m3_s=7e-5,
        wet_activity=0.92,
        start_c=12.2,
        start_pct=94.0,
        inside=WASHED_FRIDGE,
    ),
)

VISITS: dict[str, tuple[Visit, ...]] = {
    CELLAR: (Visit(6.6, 9.0), Visit(17.4, 5.0, 0.9), Visit(11.0, 3.0, 0.35), Visit(14.5, 4.0, 0.2)),
    WASHED_FRIDGE: (Visit(6.9, 2.5), Visit(17.8, 1.5, 0.9), Visit(10.2, 0.8, 0.4), Visit(20.0, 1.0, 0.3)),
    COLD_FRIDGE: (Visit(7.1, 1.5), Visit(12.2, 0.8, 0.5), Visit(18.2, 1.0, 0.5)),
    BOX: (Visit(7.0, 2.0), Visit(17.9, 1.0, 0.5)),
}
