"""The small drawings of a look-back."""

from dashboard.charts.lookback_chart import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, panel

HOUR_MS = 3_600_000


def drawn(value, band=(80.0, 92.0), window=(24, 72)):
    start = [HOUR_MS * i for i in range(len(value))]
    span = (HOUR_MS * window[0], HOUR_MS * window[1])
    return panel("Humidity", start, value, span, band, 10.0, lambda v: f"{v:.0f} %", lambda ms: f"h{ms // HOUR_MS}")


def points(path):
    return [tuple(map(float, pair.split())) for pair in path.removeprefix("M").split("L")]


def test_everything_lies_within_the_drawing():
    found = drawn([85.0 + (i % 7) for i in range(97)])
    assert found is not None
    for x, y in points(found.lines[0]):
        assert LEFT <= x <= WIDTH - RIGHT
        assert TOP <= y <= HEIGHT - BOTTOM
    assert LEFT <= found.window[0] < found.window[0] + found.window[1] <= WIDTH - RIGHT
    assert [words for _, words in found.days] == ["h24", "h72"]


def test_damper_is_higher_and_a_gap_breaks_the_line():
    found = drawn([82.0] * 10 + [None] * 5 + [90.0] * 10, window=(2, 20))
    assert found is not None
    low, high = (points(line)[0][1] for line in found.lines)
    assert high < low


def test_a_calm_time_looks_calm():
    found = drawn([86.0 + 0.01 * i for i in range(20)], band=(None, None), window=(2, 9))
    assert found is not None
    ys = [y for _, y in points(found.lines[0])]
    assert max(ys) - min(ys) < 5
    assert found.band is None


def test_where_nothing_is_known_nothing_is_drawn():
    assert drawn([None] * 30) is None
    assert drawn([]) is None
