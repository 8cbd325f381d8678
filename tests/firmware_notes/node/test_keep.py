"""The flash buffer: order, power cuts in the middle of a write, and the bound."""

from firmware_notes.node import keep


def payloads(buffer):
    return [payload for _, _, payload in buffer.pending()]


def a_message(number):
    return b"message %04d" % number


def filled(folder, count, **bounds):
    buffer = keep.Keep(folder, **bounds)
    for number in range(count):
        buffer.add(keep.MESSAGE, a_message(number))
    return buffer


def test_what_is_added_is_pending_in_order(folder):
    assert payloads(filled(folder, 50, segment_bytes=200)) == [a_message(number) for number in range(50)]


def test_it_survives_a_restart(folder):
    filled(folder, 50, segment_bytes=200)
    assert payloads(keep.Keep(folder, segment_bytes=200)) == [a_message(number) for number in range(50)]


def test_what_is_acknowledged_is_gone_also_after_a_restart(folder):
    buffer = filled(folder, 30, segment_bytes=200)
    places = [place for place, _, _ in buffer.pending()]
    buffer.done(places[11])
    expected = [a_message(number) for number in range(12, 30)]
    assert payloads(buffer) == expected
    assert payloads(keep.Keep(folder, segment_bytes=200)) == expected


def test_acknowledging_something_older_changes_nothing(folder):
    buffer = filled(folder, 10)
    places = [place for place, _, _ in buffer.pending()]
    buffer.done(places[5])
    buffer.done(places[2])
    assert len(payloads(buffer)) == 4


def test_a_write_torn_at_any_byte_loses_only_itself(folder):
    whole = keep.frame(keep.MESSAGE, b"torn")
    for cut in range(1, len(whole)):
        inner = "%s/%02d" % (folder, cut)
        buffer = filled(inner, 3)
        keep.append(buffer._path(buffer.segments[-1]), whole[:cut])
        again = keep.Keep(inner)
        again.add(keep.MESSAGE, b"after")
        expected = [a_message(0), a_message(1), a_message(2), b"after"]
        assert payloads(again) == expected, cut
        assert payloads(keep.Keep(inner)) == expected, cut


def test_a_flipped_bit_in_the_middle_costs_one_message(folder):
    buffer = filled(folder, 3)
    path = buffer._path(buffer.segments[0])
    data = bytearray(keep.read(path))
    data[len(data) // 2] ^= 4
    keep.overwrite(path, data)
    assert payloads(keep.Keep(folder)) == [a_message(0), a_message(2)]


def test_a_torn_pointer_falls_back_to_the_one_before(folder):
    buffer = filled(folder, 10)
    places = [place for place, _, _ in buffer.pending()]
    buffer.done(places[3])
    buffer.done(places[6])
    newest = keep.POINTER_NAMES[buffer.generation % 2]
    keep.overwrite(folder + "/" + newest, b"\x07\x00")
    assert payloads(keep.Keep(folder)) == [a_message(number) for number in range(4, 10)]


def test_without_any_pointer_everything_is_sent_again(folder):
    buffer = filled(folder, 5)
    buffer.done([place for place, _, _ in buffer.pending()][2])
    for name in keep.POINTER_NAMES:
        keep.remove(folder + "/" + name)
    assert len(payloads(keep.Keep(folder))) == 5


def test_when_full_the_oldest_go_and_are_counted(folder):
    buffer = filled(folder, 100, segment_bytes=200, most_segments=4)
    left = payloads(buffer)
    assert 1 < len(left) < 100
    assert left == [a_message(number) for number in range(100 - len(left), 100)]
    assert buffer.dropped == 100 - len(left)
    assert keep.Keep(folder, segment_bytes=200, most_segments=4).dropped == buffer.dropped


def test_nothing_is_dropped_while_there_is_room(folder):
    assert filled(folder, 100, segment_bytes=200, most_segments=40).dropped == 0


def test_anchors_do_not_count_as_dropped(folder):
    buffer = keep.Keep(folder, segment_bytes=100, most_segments=2)
    for _ in range(50):
        buffer.add(keep.ANCHOR, b"anchor")
    assert buffer.dropped == 0


def test_new_messages_follow_acknowledged_ones(folder):
    buffer = filled(folder, 9, segment_bytes=100)
    buffer.done([place for place, _, _ in buffer.pending()][-1])
    again = keep.Keep(folder, segment_bytes=100)
    assert payloads(again) == []
    again.add(keep.MESSAGE, b"next")
    assert payloads(again) == [b"next"]
    assert payloads(keep.Keep(folder, segment_bytes=100)) == [b"next"]


def test_flash_stays_small_when_all_is_acknowledged(folder):
    import os

    buffer = keep.Keep(folder, segment_bytes=200)
    for number in range(300):
        buffer.add(keep.MESSAGE, a_message(number))
        for place, _, _ in buffer.pending():
            buffer.done(place)
    assert len(os.listdir(folder)) <= 3
