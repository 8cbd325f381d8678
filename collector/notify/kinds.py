"""The kinds of channels, one row each; a new one is a module beside this with a row here and in sending.py."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of channel.

    Args:
        word: what a person reads.
        tells_people: its messages are gathered, held in quiet hours and rationed; machines get each at once.
        takes_warnings: False for the heartbeat, which only says that we are alive.
        leaves_house: what goes out and through whose hands, said before it is switched on.
    """

    name: str
    word: str
    tells_people: bool
    takes_warnings: bool
    leaves_house: str


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            "apprise",
            "e-mail or a messaging service",
            tells_people=True,
            takes_warnings=True,
            leaves_house="The service sees the whole message.",
        ),
        Kind(
            "push",
            "this phone's notifications",
            tells_people=True,
            takes_warnings=True,
            leaves_house="The message goes sealed through the service of the browser's maker, who sees when it is sent "
            "and how long it is, not what it says. House and phone both need the internet.",
        ),
        Kind(
            "webhook",
            "a web address of your own",
            tells_people=True,
            takes_warnings=True,
            leaves_house="Whoever runs that address sees the whole message.",
        ),
        Kind(
            "mqtt",
            "other devices in the house",
            tells_people=False,
            takes_warnings=True,
            leaves_house="Nothing leaves the house: whoever may listen on the probes' broker can read it.",
        ),
        Kind(
            "heartbeat",
            "a service that notices when this machine is dead",
            tells_people=False,
            takes_warnings=False,
            leaves_house="The service sees that this machine lives, and its address in the internet.",
        ),
    )
}
