"""Runs as a child of its own: what verifies a passkey's answer takes 33 MiB, which goes back when the child ends.

Reads one JSON object from standard input, {"do", "credential", "challenge", "host", "origin"} and for an answer that
signs somebody in "public_key". Writes {"credential_id", "public_key", "sign_count"}, {"sign_count"} or {"refused"}.
"""

import json
import sys
from typing import Any


def main() -> None:
    from webauthn.helpers.exceptions import WebAuthnException

    asked = json.load(sys.stdin)
    try:
        answer = {"make": _made, "sign_in": _signed}[asked["do"]](asked)
    except WebAuthnException as error:
        answer = {"refused": str(error)}
    json.dump(answer, sys.stdout)


def _bound(asked: dict[str, Any]) -> dict[str, Any]:
    from webauthn import base64url_to_bytes

    return {
        "credential": asked["credential"], "expected_challenge": base64url_to_bytes(asked["challenge"]),
        "expected_rp_id": asked["host"], "expected_origin": asked["origin"],
    }  # fmt: skip


def _made(asked: dict[str, Any]) -> dict[str, Any]:
    from webauthn import verify_registration_response
    from webauthn.helpers import bytes_to_base64url

    found = verify_registration_response(**_bound(asked))
    return {
        "credential_id": bytes_to_base64url(found.credential_id), "sign_count": found.sign_count,
        "public_key": bytes_to_base64url(found.credential_public_key),
    }  # fmt: skip


def _signed(asked: dict[str, Any]) -> dict[str, Any]:
    from webauthn import base64url_to_bytes, verify_authentication_response

    # The library looks at the count before the signature. A made-up answer must not raise the alarm of a copied
    # passkey, so it is told none here, and whoever asked compares counts once the signature is known to be right.
    found = verify_authentication_response(
        **_bound(asked), credential_public_key=base64url_to_bytes(asked["public_key"]), credential_current_sign_count=0
    )
    return {"sign_count": found.new_sign_count}


if __name__ == "__main__":
    main()
