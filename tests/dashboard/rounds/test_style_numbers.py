"""A style's air and losses read back from its form: in the household's units, and what cannot be is refused."""

from datetime import UTC, datetime

import pytest

from collector.errors import EntryRefused
from dashboard.household import Household
from dashboard.rounds.plans import changed, texts_of
from dashboard.rounds.style_numbers import loss_texts
from dashboard.rounds.typed import Asked
from dashboard.wheels.bodies.sheets import LossLimit, StyleSheet
from dashboard.wheels.kinds.styles import STYLES

TOMME = STYLES["tomme"]
AT = datetime(2026, 3, 12, tzinfo=UTC)
HERE = Household()
ABROAD = Household(temperature_unit="F", weight_unit="lb")


def said(household: Household = HERE, **texts: str) -> dict[str, object]:
    plain = {name.replace("_at_", "-"): text for name, text in texts.items()}
    asked = Asked({**texts_of(TOMME, household), **plain}, household, AT)
    return changed(asked, TOMME, {"turned": "", "brushed": "", "weighed": ""})


def test_fields_are_shown_and_read_in_the_households_units() -> None:
    shown = texts_of(TOMME, ABROAD)
    # 10 degC is 50 degF and 13 degC is 55.4 degF by definition; 1 kg is 2.2046 lb (NIST SP 811, appendix B.8).
    assert (shown["temperature_low_c"], shown["temperature_high_c"], shown["size-0"]) == ("50", "55.4", "2.2")
    found = said(ABROAD, temperature_low_c="53.6", size_at_0="3")
    assert found["temperature_low_c"] == pytest.approx(12)
    assert StyleSheet(losses=found["losses"]).losses[0].up_to_g == pytest.approx(3 * 453.59237)


@pytest.mark.parametrize("household", [Household(), ABROAD])
@pytest.mark.parametrize("name", STYLES)
def test_what_is_left_as_it_stood_keeps_its_last_digit(name: str, household: Household) -> None:
    sheet = STYLES[name]
    assert (
        changed(Asked(texts_of(sheet, household), household, AT), sheet, {line.care: "" for line in sheet.plan}) == {}
    )


def test_an_end_is_opened_and_a_size_added_and_taken_out() -> None:
    assert said(humidity_high_pct="") == {"humidity_high_pct": None}
    found = said(size_at_3="500 g", least_at_3="12", most_at_3="24", least_at_1="", most_at_1="", size_at_1="")
    losses = StyleSheet(losses=found["losses"]).losses
    assert [(row.up_to_g, row.low_pct, row.high_pct) for row in losses] == [
        (500, 12, 24), (1_000, 10, 20), (None, 6, 12),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("texts", "field", "words"),
    [
        ({"temperature_high_c": "9"}, "temperature_high_c", "must be above the lowest, 10, got 9"),
        ({"temperature_low_c": "90"}, "temperature_low_c", "must be at most 50 °C, got '90'"),
        ({"humidity_low_pct": "damp"}, "humidity_low_pct", "is not a number with a unit, got 'damp'"),
        ({"most_at_0": "9"}, "most-0", "must be at least the least, 10 %, got 9 %"),
        ({"most_at_0": "120"}, "most-0", "must be at most 100 %, got '120'"),
        ({"least_at_1": ""}, "least-1", "Say the least"),
        ({"size_at_0": "300"}, "size-0", "must be at most 200000 g, got '300'"),
        ({"size_at_0": "4"}, "size-1", "two rows are for wheels up to 4 kg"),
        ({"size_at_1": ""}, "size-2", "two rows are for wheels of any size"),
    ],
)
def test_what_cannot_be_is_refused_with_its_value_and_limit(texts: dict[str, str], field: str, words: str) -> None:
    with pytest.raises(EntryRefused) as refused:
        said(**texts)
    assert refused.value.field == field
    assert words in str(refused.value)


def test_a_form_of_before_that_knows_no_losses_leaves_them() -> None:
    texts = {
        k: v for k, v in texts_of(TOMME, Household()).items() if not k.startswith(("size", "least", "most", "humid"))
    }
    assert changed(Asked(texts, Household(), AT), TOMME, {"turned": "", "brushed": "", "weighed": ""}) == {}
    assert loss_texts([LossLimit(low_pct=8, high_pct=12.5)], Household()) == {
        "size-0": "", "least-0": "8", "most-0": "12.5",
    }  # fmt: skip
