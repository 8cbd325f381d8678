"""What can go wrong on a probe, said in words that the console shows."""


class SensorFault(Exception):
    """A sensor that does not answer, answers garbled, or answers what cannot be."""


class LinkDown(Exception):
    """The network, the broker or an answer of it is missing; what is kept stays kept."""


class BadSettings(Exception):
    """A setting that cannot work; the text names it, its value and what it may be."""
