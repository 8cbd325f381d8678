"""What is marked on an entry, as sentences a person reads. An entry is kept whatever is marked on it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Flag:
    """One mark: its name in the book, what it tells the person, and whether it stays once set.

    A sticky flag is about how the entry came; the others are judged anew whenever the wheel's entries change.
    """

    name: str
    words: str
    sticky: bool = False


FLAGS: dict[str, Flag] = {
    row.name: row
    for row in (
        Flag("clock_ahead", "the phone's clock was ahead; kept with the time at which it came", sticky=True),
        Flag("clock_wrong", "the phone's clock was far off; kept with the time at which it came", sticky=True),
        Flag("clock_mended", "the phone's clock was off by minutes or more; the time was set right", sticky=True),
        Flag("unknown_wheel", "no such wheel is in the book yet"),
        Flag("after_end", "the wheel was already finished, eaten, given away or cut then"),
        Flag("before_made", "that is before the wheel was made"),
        Flag("too_many_pieces", "more pieces than were left"),
        Flag("code_taken", "another wheel already has this code"),
        Flag("unknown_place", "no such place is in the book"),
        Flag("closed_place", "the place was closed"),
        Flag("unknown_word", "no such word is in the lists yet"),
        Flag("unknown_replaced", "it corrects an entry that is not in the book yet"),
        Flag("corrected_twice", "two corrections of the same entry; the later one counts"),
        Flag("heavier", "heavier than before; was it wet, or on its board?"),
        Flag("much_lighter", "lost more than a wheel can since the last weighing; was something taken out?"),
        Flag("unit_slip", "it looks like the other unit"),
        Flag("kept_as_typed", "the weight looked odd and was kept on purpose"),
    )
}


def words_of(flags: tuple[str, ...]) -> list[str]:
    """The sentences of some flags; a name that a newer version set is shown as it stands."""
    return [FLAGS[name].words if name in FLAGS else name.replace("_", " ") for name in flags]
