"""Loss from what the scale showed. Published losses are named where they are used."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dashboard.wheels.bodies.doings import TookOut
from dashboard.wheels.losses import CUT, FIRST, LossPoint, Start, counted_from, losses_of, net_weight
from dashboard.wheels.model import Entry
from tests.dashboard.wheels.builders import BOARD, covered, day, noted, turned, weighed


def losses(*entries: Entry, cut: Start | None = None) -> list[LossPoint]:
    weights = [net_weight(e) for e in entries if e.kind == "weighing"]
    return losses_of(entries, weights, counted_from(weights, cut))


def start(*entries: Entry, cut: Start | None = None) -> Start | None:
    return counted_from([net_weight(e) for e in entries], cut)


def test_a_board_is_no_cheese() -> None:
    assert net_weight(noted(weighed(2_750, board_id=BOARD, tare_g=650))).net_g == 2_100


def test_of_pieces_on_the_scale_together_one_counts() -> None:
    assert net_weight(noted(weighed(1_200, pieces=5)), pieces=14).net_g == 240
    assert net_weight(noted(weighed(1_400)), pieces=14).net_g == 100


def test_only_a_weighing_has_a_weight() -> None:
    with pytest.raises(ValueError, match="is no weighing but care"):
        net_weight(noted(turned()))


@pytest.mark.parametrize(
    ("start_g", "end_g", "lost_pct"),
    [
        # A farm Saint-Nectaire of 1.6 kg at entry weighs 1.5 kg at four weeks, weight loss 6.3 % (VetAgro Sup,
        # course on milk, affinage).
        (1_600, 1_500, 6.25),
        # A Comte of 45 kg loses 1 kg by four months, one of 42 kg loses 2 kg (tout-un-fromage.fr, trade).
        (45_000, 44_000, 2.2),
        (42_000, 40_000, 4.8),
    ],
)
def test_agrees_with_published_losses(start_g: float, end_g: float, lost_pct: float) -> None:
    points = losses(noted(weighed(start_g, start="cave")), noted(weighed(end_g), 28))
    assert points[-1].loss_pct == pytest.approx(lost_pct, abs=0.06)


def test_loss_counts_from_the_last_named_start() -> None:
    entries = [
        noted(weighed(2_400, start="press")),
        noted(weighed(2_300, start="salt"), 1),
        noted(weighed(2_200, start="cave"), 3),
    ]
    assert start(*entries) == Start("cave", day(3), 2_200)
    assert start(*entries[:2]) == Start("salt", day(1), 2_300)
    assert start(*entries).word == "into the cave"
    assert [p.loss_pct for p in losses(*entries, noted(weighed(1_980), 60))] == [0, pytest.approx(10)]


def test_a_start_named_late_still_counts_by_its_rank() -> None:
    cave, press = noted(weighed(2_200, start="cave"), 3), noted(weighed(2_400, start="press"), 4)
    assert start(cave, press).name == "cave"


def test_without_a_name_the_first_dry_weighing_is_the_start() -> None:
    wet, dry = noted(weighed(2_300, wet=True)), noted(weighed(2_200), 2)
    assert start(wet, dry) == Start(FIRST, day(2), 2_200)
    assert start(wet) == Start(FIRST, day(0), 2_300)
    assert start() is None
    assert losses() == []


def test_a_part_starts_at_its_own_hundred_percent() -> None:
    cut = Start(CUT, day(60), 1_000)
    assert losses(noted(weighed(900), 90), cut=cut)[0].loss_pct == pytest.approx(10)


def test_a_wet_weighing_is_marked() -> None:
    points = losses(noted(weighed(2_000)), noted(weighed(1_990, wet=True), 7))
    assert [p.wet for p in points] == [False, True]


def test_a_wheel_that_takes_up_water_loses_less_than_nothing() -> None:
    assert losses(noted(weighed(2_000)), noted(weighed(2_020), 7))[-1].loss_pct == pytest.approx(-1)


@pytest.mark.parametrize(
    "body",
    [
        TookOut(what="slice", taken_g=380),
        TookOut(what="slice", before_g=1_900, after_g=1_520),
        TookOut(what="slice", after_g=1_520),
        TookOut(what="slice", taken_g=380, before_g=1_900),
    ],
)
def test_a_slice_taken_out_is_not_lost(body: TookOut) -> None:
    # 2000 g dry down by 5 % to 1900 g; a fifth is eaten; the rest dries by another tenth: 1 - 0.95 * 0.9 = 14.5 %.
    points = losses(noted(weighed(2_000)), noted(weighed(1_900), 20), noted(body, 20, 1), noted(weighed(1_368), 40))
    assert points[-1].loss_pct == pytest.approx(14.5)


def test_wax_put_on_is_not_gained() -> None:
    points = losses(
        noted(weighed(2_000)), noted(covered("wax", before_g=1_900, after_g=1_957), 20), noted(weighed(1_957), 21)
    )
    assert points[-1].loss_pct == pytest.approx(5)


def test_taking_out_more_than_there_was_leaves_something() -> None:
    points = losses(noted(weighed(500)), noted(TookOut(what="other", taken_g=600), 1), noted(weighed(100), 2))
    assert points[-1].loss_pct < 100


@given(st.floats(50, 20_000), st.lists(st.floats(0.5, 1.05), min_size=1, max_size=8))
def test_loss_is_the_share_of_the_start(start_g: float, shares: list[float]) -> None:
    entries = [noted(weighed(start_g, start="cave"))]
    entries += [noted(weighed(start_g * share), 1 + n) for n, share in enumerate(shares)]
    for point, share in zip(losses(*entries)[1:], shares, strict=True):
        assert point.loss_pct == pytest.approx(100 * (1 - share), abs=1e-6)
