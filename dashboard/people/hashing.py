"""Runs as a child of its own: one hash takes 64 MiB, which goes back to the machine when the child ends.

Reads one JSON object from standard input, {"password", "hash"}; an empty hash asks for a new one. Writes one JSON
object, {"hash"} or {"right"}.
"""

import json
import sys


def main() -> None:
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError

    asked = json.load(sys.stdin)
    hasher = PasswordHasher()
    if not asked["hash"]:
        json.dump({"hash": hasher.hash(asked["password"])}, sys.stdout)
        return
    try:
        json.dump({"right": hasher.verify(asked["hash"], asked["password"])}, sys.stdout)
    except (InvalidHashError, VerificationError):
        json.dump({"right": False}, sys.stdout)


if __name__ == "__main__":
    main()
