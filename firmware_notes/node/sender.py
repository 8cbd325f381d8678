"""From flash to the broker: Wi-Fi, the time, the status message, then what is kept, oldest first."""

from . import clock, pack
from .faults import LinkDown
from .keep import ANCHOR, MESSAGE
from .link import KEEPALIVE_S
from .pace import Pace
from .sensors import battery_pct

VERSION = "1.0"
WINDOW = 8  # Messages on their way at once.
MOST_S = 20
MOST_FAULT_SIGNS = 64
TIME_EVERY_S = 3600
STATUS_EVERY_S = 900
SLACK_S = 60
MOST_OFFSET_S = 86400


class Sender:
    """Holds the connection, when there is one."""

    def __init__(self, board, settings, state, keep):
        self.board, self.settings, self.state, self.keep = board, settings, state, keep
        self.pace = Pace(settings.KEEP_FOLDER + "/pace")
        self.link = None
        self.faults = []
        self.told_s, self.spoke_s = None, 0
        base = settings.TOPIC_ROOT + "/" + settings.PROBE
        self.readings_topic, self.status_topic = base + "/readings", base + "/status"

    def connect(self):
        """Network, time and broker, as far as they are not there yet."""
        if self.link is None:
            self.board.network_up()
        self._set_time_when_due()
        if self.link is None:
            self._greet()
        if self.told_s is None or self.state.uptime_s() - self.told_s >= STATUS_EVERY_S:
            self._tell_status()

    def send_kept(self):
        """Publishes what is kept; says whether all of it is acknowledged.

        After a long outage it stops when the next reading comes near, and goes on a round later.
        """
        until_s = self.state.uptime_s() + max(MOST_S, self.settings.INTERVAL_S // 2)
        times = self._times()
        waiting, last = [], None
        for place, kind, data in self.keep.pending():
            last = place
            if kind == MESSAGE:
                waiting.append((self.link.publish(self.readings_topic, self._text(place, data, times)), place))
            if len(waiting) == WINDOW:
                self._await(waiting)
                if self.state.uptime_s() >= until_s:
                    return False
        self._await(waiting)
        if last:
            self.keep.done(last)  # Anchors behind the last message have served.
        return True

    def stay_awake(self):
        """Shows the broker a sign of life, when nothing was said for half the time it allows."""
        if self.link is None or self.state.uptime_s() - self.spoke_s < KEEPALIVE_S // 2:
            return
        try:
            self.link.ping()
            self.spoke_s = self.state.uptime_s()
        except LinkDown as trouble:
            print("connection lost:", trouble)
            self.drop()

    def now(self):
        """The time, as well as it is known: the clock, put right by its offset and its pace."""
        raw, since = self.board.now(), self.state.since
        return since + self.state.offset + self.pace.right(raw - since) if since else raw

    def signal_dbm(self):
        return self.board.signal_dbm() if self.link else None

    def drop(self):
        """Gives the connection up without a word."""
        if self.link:
            self.link.stream.close()
        self.link = None
        self.told_s = None

    def close(self):
        """Says goodbye and switches the radio off."""
        if self.link:
            self.link.close()
        self.link = None
        self.told_s = None
        self.board.network_down()

    def _greet(self):
        fresh = self.board.open_link()
        settings = self.settings
        will = None
        if settings.POWER != "battery":  # A probe that sleeps is away on purpose.
            will = (self.status_topic, pack.status("offline", boot="%08x" % self.state.boot))
        try:
            fresh.connect(settings.PROBE, settings.BROKER_USER, settings.BROKER_PASSWORD, will)
        except LinkDown:
            fresh.stream.close()
            raise
        self.link = fresh
        self.spoke_s = self.state.uptime_s()

    def _tell_status(self):
        packet_id = self.link.publish(self.status_topic, self._status(), retain=True)
        while self.link.next_ack() != packet_id:
            pass
        self.told_s = self.spoke_s = self.state.uptime_s()

    def _status(self):
        millivolts = self.board.battery_mv()
        return pack.status(
            "online",
            version=VERSION,
            uptime_s=self.state.uptime_s(),
            boot="%08x" % self.state.boot,
            signal_dbm=self.board.signal_dbm(),
            battery_pct=None if millivolts is None else battery_pct(millivolts, self.settings),
            at_latest_every_s=at_latest_every_s(self.settings),
            refused=self.state.refused,
            dropped=self.keep.dropped,
            fault="; ".join(self.faults)[:MOST_FAULT_SIGNS] or None,
        )

    def _set_time_when_due(self):
        # A sleeping board's clock may stray by a percent, so it asks whenever it is on the air.
        before = self.board.now()
        sleeps = self.settings.POWER == "battery"
        if not sleeps and before >= clock.SANE and 0 <= before - self.state.asked < TIME_EVERY_S:
            return
        try:
            self._set_time(self.board.ask_time())
        except OSError as error:
            print("no time:", error)

    def _set_time(self, true):
        shown, before, state = self.board.now(), self.now(), self.state
        was = state.since + state.offset if state.since else 0
        if abs(true - before) >= clock.STEP_S:
            self.keep.add(ANCHOR, clock.anchor(state.boot, before, true, was, state.born))
        if state.since:
            self.pace.learn(shown - state.since, true - was)
        if abs(true - shown) > MOST_OFFSET_S:
            # Only a clock that is far off is set; certificates are checked against it.
            self.board.set_clock(true)
            state.clock_moves(true - shown)
            shown = true
        state.synced(shown, true)

    def _times(self):
        times = clock.Times(self.pace.right)
        for place, kind, data in self.keep.pending():
            if kind == MESSAGE:
                boot, _, stamp, _ = pack.from_bytes(data)
                times.note_message(place, boot, stamp)
            elif kind == ANCHOR:
                times.note_anchor(place, data)
        times.close(self.state.boot, self.state.born)
        return times

    def _text(self, place, data, times):
        boot, seq, stamp, records = pack.from_bytes(data)
        now = self.now()
        taken, exact = times.when(place, boot, stamp, self.state.boot, now)
        if taken >= clock.SANE:
            return pack.senml(self.settings.PROBE, boot, seq, records, taken, 0, not exact)
        age_s = max(0, self.pace.right(now - taken))
        return pack.senml(self.settings.PROBE, boot, seq, records, None, age_s, not exact)

    def _await(self, waiting):
        """Waits for all acknowledgements; those in front that came count even when others do not."""
        self.board.wait_ms(0)  # Feeds the watchdog.
        acked, done = set(), None
        try:
            while waiting:
                acked.add(self.link.next_ack())
                while waiting and waiting[0][0] in acked:
                    done = waiting.pop(0)[1]
        except LinkDown:
            if done:
                self.keep.done(done)
            raise
        if done:
            self.keep.done(done)
        self.spoke_s = self.state.uptime_s()


def at_latest_every_s(settings):
    """How long the probe may be silent at most while all is well."""
    sleeps = settings.POWER == "battery"
    every_s = settings.INTERVAL_S * (settings.SEND_EVERY if sleeps else 1) + SLACK_S
    others = settings.SURFACE_SENSOR or settings.DOOR or settings.LOAD_CELL or settings.BATTERY
    if sleeps and settings.HEAT_EVERY_H and not others:
        every_s += settings.SETTLE_S  # With nothing but air to tell, heating makes it silent.
    return every_s
