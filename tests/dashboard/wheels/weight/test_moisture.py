"""Moisture after a loss, and the Codex's words."""

import pytest

from dashboard.wheels.weight.moisture import (
    STANDARD,
    Composition,
    after_loss,
    fat_class,
    fat_free_moisture_pct,
    fat_in_dry_pct,
    firmness,
    loss_for,
)


@pytest.mark.parametrize(
    ("start", "losses"),
    [
        (38, {2: 36.73, 5: 34.74, 8: 32.61, 10: 31.11, 12: 29.55, 15: 27.06, 20: 22.50}),
        (45, {2: 43.88, 5: 42.11, 8: 40.22, 10: 38.89, 12: 37.50, 15: 35.29, 20: 31.25}),
        (52, {2: 51.02, 5: 49.47, 8: 47.83, 10: 46.67, 12: 45.45, 15: 43.53, 20: 40.00}),
    ],
)
def test_dry_matter_is_kept(start: float, losses: dict[float, float]) -> None:
    # Computed by hand from M(t) = 1 - (1 - M0) W0 / W(t).
    for loss, moisture in losses.items():
        assert after_loss(Composition(start), loss).moisture_pct == pytest.approx(moisture, abs=0.006)


@pytest.mark.parametrize(("of", "to", "loss"), [(42, 39, 4.918), (40, 34, 9.091), (38, 32, 8.824), (45, 39, 9.836)])
def test_loss_that_a_moisture_needs(of: float, to: float, loss: float) -> None:
    assert loss_for(of, to) == pytest.approx(loss, abs=5e-4)
    assert after_loss(Composition(of), loss).moisture_pct == pytest.approx(to, abs=1e-2)


@pytest.mark.parametrize(
    ("moisture", "fat", "fat_free", "in_dry", "words", "rich"),
    [
        (37, 33, 55.22, 52.38, ("hard", "firm or semi-hard"), "full fat"),
        (41, 28.5, 57.34, 48.31, ("firm or semi-hard",), "full fat"),
        (52.5, 23, 68.18, 48.42, ("firm or semi-hard", "soft"), "full fat"),
        (31, 27, 42.47, 39.13, ("extra hard",), "medium fat"),
        (38, 28, 52.78, 45.16, ("hard",), "full fat"),
    ],
)
def test_codex_words(
    moisture: float, fat: float, fat_free: float, in_dry: float, words: tuple[str, ...], rich: str
) -> None:
    # Codex CXS 283-1978, section 7.1.1 (current bands from memory); its formulas as copied in 2000.
    one = Composition(moisture, fat)
    assert fat_free_moisture_pct(one) == pytest.approx(fat_free, abs=0.006)
    assert fat_in_dry_pct(one) == pytest.approx(in_dry, abs=0.006)
    assert firmness(fat_free) == words
    assert fat_class(in_dry) == rich
    assert "CXS 283" in STANDARD


def test_bands_overlap_at_fifty() -> None:
    assert firmness(50.0) == ("extra hard", "hard")


def test_fat_in_dry_matter_does_not_change_with_drying() -> None:
    start = Composition(42, 30)
    assert fat_in_dry_pct(after_loss(start, 9)) == pytest.approx(fat_in_dry_pct(start))


def test_refuses_what_cannot_be() -> None:
    with pytest.raises(ValueError, match="together at most 100"):
        Composition(60, 45)
    with pytest.raises(ValueError, match="below the 40 % of water"):
        after_loss(Composition(40), 45)
    with pytest.raises(ValueError, match="below 100, got 100"):
        after_loss(Composition(40), 100)
