"""Weight loss beneath a chart of air: on its own axis, on the same time, the rest moved up."""

from dashboard.charts.loss_panel import SHARE, LossLine, with_losses
from dashboard.charts.spans import Window
from dashboard.household import Household

SHOWN = Window("", 0, 10_000_000, live=False)
FIGURE = {
    "data": [{"name": "temperature"}],
    "layout": {"xaxis": {"anchor": "y3"}, "yaxis": {"domain": [0.5, 1]}, "yaxis2": {"domain": [0, 0.4]}, "shapes": []},
}


def test_the_panels_above_keep_their_order_and_leave_the_foot_free() -> None:
    figure = with_losses(FIGURE, [LossLine("24-07B", (600_000,), (1.5,))], SHOWN, Household())
    layout = figure["layout"]
    assert layout["yaxis4"]["domain"][1] < layout["yaxis2"]["domain"][0] == SHARE
    assert layout["yaxis"]["domain"][1] == 1
    assert layout["xaxis"]["anchor"] == "y4"
    assert FIGURE["layout"]["yaxis2"] == {"domain": [0, 0.4]}  # type: ignore[index]


def test_each_wheel_has_a_sign_of_its_own_and_only_what_was_weighed_in_the_window() -> None:
    lines = [LossLine("A<b>", (600_000, 20_000_000), (1.5, 9.0)), LossLine("B", (0,), (0.0,))]
    data = with_losses(FIGURE, lines, SHOWN, Household())["data"][1:]
    assert [trace["y"] for trace in data] == [[1.5], [0.0]]
    assert data[0]["name"] == "A&lt;b&gt;"
    assert data[0]["x"] == ["1970-01-01T00:10"]
    assert data[0]["marker"]["symbol"] != data[1]["marker"]["symbol"]


def test_without_a_weighing_the_chart_stays_as_it_is() -> None:
    assert with_losses(FIGURE, [LossLine("A", (), ())], SHOWN, Household()) is FIGURE
