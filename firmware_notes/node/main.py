"""The probe's round: read, keep in flash, send what is kept, sleep."""

from . import pack
from .check_settings import check
from .faults import LinkDown
from .keep import MESSAGE, Keep
from .sender import Sender
from .state import State

LONGEST_BACKOFF = 16


class Probe:
    """`board` is the hardware or, in a test, a likeness of it."""

    def __init__(self, board, settings):
        check(settings)
        self.board, self.settings = board, settings
        self.state = State(board)
        self.keep = Keep(settings.KEEP_FOLDER)
        self.sensors = board.sensors()
        self.sender = Sender(board, settings, self.state, self.keep)

    def round(self):
        """One reading, and sending when it is due; returns the seconds to wait for the next."""
        started_s = self.state.uptime_s()
        door_moved = self._take()
        if door_moved or self._sending_is_due():
            self._send()
        if self._heating_is_due():
            self._heat()
        self.state.save()
        return max(1, self.settings.INTERVAL_S - (self.state.uptime_s() - started_s))

    def rest(self, seconds):
        """Sleeps until the next round, or until the door moves."""
        if self.settings.POWER == "battery":
            self.board.deep_sleep(seconds)
            return
        until_s = self.state.uptime_s() + seconds
        while self.state.uptime_s() < until_s and not self._door_moved(self.board.door_is_open()):
            self.board.wait_ms(1000)
            self.sender.stay_awake()

    def _take(self):
        """Reads everything into flash; says whether the door has moved."""
        stamp = self.sender.now()
        records, faults = self.sensors.read(self._air_is_settled())
        self.sender.faults = faults
        for fault in faults:
            print("refused:", fault)
            self.state.count("refused")
        signal = self.sender.signal_dbm()
        if signal is not None:
            records.append((pack.SIGNAL, signal))
        moved = self._door_moved(dict(records).get(pack.DOOR))
        if records:
            self._store(stamp, records)
        return moved

    def _store(self, stamp, records):
        data = pack.to_bytes(self.state.boot, self.state.next_seq(), stamp, records)
        try:
            self.keep.add(MESSAGE, data)
        except OSError as error:  # Broken flash must not stop what can still be sent.
            print("flash refuses:", error)
            self.state.count("refused")
        self.state.door = 1 if dict(records).get(pack.DOOR) else 0
        self.state.count("waiting")

    def _door_moved(self, is_open):
        return is_open is not None and int(is_open) != self.state.door

    def _sending_is_due(self):
        if self.settings.POWER != "battery" or self.state.seq <= 1:
            return True
        backoff = min(LONGEST_BACKOFF, 1 << min(self.state.failures, 8))
        return self.state.waiting >= self.settings.SEND_EVERY * backoff

    def _send(self):
        try:
            self.sender.connect()
            if self.sender.send_kept():
                self.state.waiting = 0
            self.state.failures = 0
        except LinkDown as trouble:
            print("not sent:", trouble)
            self.sender.drop()
            self.state.count("failures")
            self.state.waiting = 0  # Counts anew, to a higher number each time.
        if self.settings.POWER == "battery":
            self.sender.close()

    def _air_is_settled(self):
        return not self.state.heated or self.board.now() - self.state.heated >= self.settings.SETTLE_S

    def _heating_is_due(self):
        every_s = self.settings.HEAT_EVERY_H * 3600
        last = self.state.heated or self.state.born
        return bool(self.sensors.air) and every_s > 0 and self.board.now() - last >= every_s

    def _heat(self):
        # The time is noted first: a sensor that fails here must not be heated in every round.
        self.state.heated = self.board.now()
        self.state.save()
        try:
            self.sensors.air.heat(self.settings.HEAT_PULSES)
        except OSError as fault:
            print("heating failed:", fault)
            self.state.count("refused")
        self.state.heated = self.board.now()


def run(board, settings):
    """Rounds for ever; whatever goes wrong in one is shown, and the board starts anew."""
    try:
        probe = Probe(board, settings)
        while True:
            probe.rest(probe.round())
    except Exception as error:  # noqa: BLE001  # the top of the program
        print("restarting after:", repr(error))
        board.wait_ms(10000)
        board.restart()
