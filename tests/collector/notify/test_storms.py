"""A week in which everything comes and goes: no channel carries more than promised, and nothing is kept from anybody.

The promise is the project's own, see collector/notify/holding.py: of one problem at most five warnings in any 24 hours,
each with at most one all-clear or correction; at most 6 messages in any hour and 24 in any 24 hours on a channel.
"""

import random
from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta

import pytest
from sqlalchemy import select

from collector.errors import WarningNotSent
from collector.notify.holding import DAY, HOUR, MOST_A_DAY, MOST_AN_HOUR
from collector.notify.message import Message
from collector.records.tables import outbox, outbox_part
from collector.records.warnings import CaveWarning, warnings
from tests.collector.notify.builders import House, Kept, a_warning

STEP = timedelta(minutes=10)
STEPS_A_DAY = 144


class Timed(Kept):
    """Keeps when each message came."""

    def __init__(self, house: House) -> None:
        super().__init__()
        self._house = house
        self.at: list[tuple[datetime, Message]] = []

    def send(self, message: Message) -> None:
        super().send(message)
        self.at.append((self._house.now, message))


PROBLEMS = [
    *[(rule, f"place-{n}", None, "warn") for n in range(8) for rule in ("too_warm", "too_damp", "wheels_may_sweat")],
    *[("stuck", None, f"probe-{n}", "warn") for n in range(20)],
    *[("probe_silent", None, f"probe-{n}", "warn") for n in range(20)],
    ("store_refusing", None, None, "urgent"),
    ("disk_low", None, None, "warn"),
]


def storm(house: House, chance: random.Random, opens: float, ends: float, days: int = 7) -> list[CaveWarning]:
    """Let days go by; each problem begins and ends by chance at each step. Returns all warnings."""
    going: dict[int, CaveWarning] = {}
    everything: list[CaveWarning] = []
    for _ in range(days * STEPS_A_DAY):
        house.clock.advance(STEP)
        over = [number for number in going if chance.random() < ends]
        withdrawn = [number for number in over if chance.random() < 0.1]
        house.clear(*[going[number] for number in over if number not in withdrawn])
        house.withdraw(*[going[number] for number in withdrawn])
        for number in over:
            del going[number]
        begun = [number for number in range(len(PROBLEMS)) if number not in going and chance.random() < opens]
        for number in begun:
            rule, place_id, probe, severity = PROBLEMS[number]
            going[number] = a_warning(rule, place_id, probe, house.now, severity, facts={})
        new = [going[number] for number in begun]
        house.open(*new)
        everything += new
        house.deliver()
    house.wait(36 * 60, step_min=30)
    return everything


def most_within(times: Sequence[datetime], span: timedelta) -> int:
    return max((sum(one <= other < one + span for other in times) for one in times), default=0)


def problem(values: dict[str, object]) -> tuple[object, ...]:
    return values["rule"], values["place_id"], values["probe"]


@pytest.mark.parametrize(("opens", "ends", "days"), [(0.002, 0.01, 7), (0.01, 0.2, 7), (0.1, 0.9, 1)])
def test_a_week_of_storms_keeps_the_promise(house: House, opens: float, ends: float, days: int) -> None:
    mail = house.add_channel()
    house.set("notify.gather_min", 10)
    kept = house.kept[mail] = Timed(house)
    everything = storm(house, random.Random(12), opens, ends, days)
    times = [at for at, _ in kept.at]
    assert most_within(times, HOUR) <= MOST_AN_HOUR
    assert most_within(times, DAY) <= MOST_A_DAY
    warned: dict[tuple[object, ...], list[datetime]] = defaultdict(list)
    ended: dict[str, int] = defaultdict(int)
    for at, message in kept.at:
        for about in {problem(p) for p in message.problems if p["said"] == "opened"}:
            warned[about].append(at)
        for told in message.problems:
            ended[told["id"]] += told["said"] in ("cleared", "withdrawn")
    assert max(most_within(times, DAY) for times in warned.values()) <= 5
    assert max(ended.values()) <= 2  # one all-clear, and a correction if it is withdrawn afterwards
    assert len(everything) > 100


def test_every_problem_is_told_and_whatever_lasts_is(house: House) -> None:
    mail = house.add_channel()
    kept = house.kept[mail] = Timed(house)
    everything = storm(house, random.Random(7), 0.01, 0.02)
    subjects_told = {problem(p) for _, message in kept.at for p in message.problems}
    assert subjects_told == {(w.rule, w.place_id, w.probe) for w in everything}
    with house.records.connect() as connection:
        still_open = {about.id for about in warnings(connection, only_open=True)}
        # A problem that came back before its all-clear went out belongs to the message that told of it first.
        sent = select(outbox_part.c.warning_id).join(outbox, outbox.c.id == outbox_part.c.outbox_id)
        told = set(connection.execute(sent.where(outbox.c.sent_at.is_not(None))).scalars())
    assert still_open
    assert still_open - told == set()


def test_a_storm_on_a_channel_that_fails_ends_in_few_messages(house: House) -> None:
    mail = house.add_channel()
    kept = house.kept[mail]
    kept.refusal = WarningNotSent("mail", "no network")
    for number in range(20):
        house.open(a_warning(place_id=f"place-{number}", opened_at=house.now))
        house.wait(20, step_min=10)
    kept.refusal = None
    house.wait(120)
    assert len(kept.messages) <= 3
    assert sum(len(message.problems) for message in kept.messages) == 20
