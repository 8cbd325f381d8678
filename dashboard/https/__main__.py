"""Makes or renews the certificate in a process of its own: what that loads would stay with the serving process.

    python -m dashboard.https make NAME...
    python -m dashboard.https renew

Prints nothing when it is done; else one line that says why not, for the page.
"""

import sys

from collector.clock import SystemClock
from collector.errors import CaveError
from collector.settings import Settings
from dashboard.addresses import own_addresses
from dashboard.https.making import make, renew


def main(arguments: list[str]) -> int:
    task, *names = arguments
    settings, now_at = Settings(), SystemClock().now()
    addresses = own_addresses(settings.own_address)
    try:
        if task == "renew":
            renew(settings, addresses, now_at)
        else:
            make(settings, names, addresses, now_at)
    except CaveError as error:
        print(f"{error}. {error.hint}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
