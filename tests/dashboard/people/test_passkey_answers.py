"""Answers of passkeys: the standard's own test vectors are taken, and whatever is bent about them is refused.

Source of the vectors: W3C, Web Authentication Level 3, 16.2 "ES256 Credential with No Attestation"
(https://www.w3.org/TR/webauthn-3/#sctn-test-vectors-none-es256), in hex as printed there.
"""

import json
from collections.abc import Callable
from typing import Any

import cbor2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collector.errors import EntryRefused
from dashboard.people import passkey_answers
from dashboard.people.passkey_answers import LONGEST, made, read, sign_count, user_of
from dashboard.people.passkey_questions import PasskeyPlace, Question, creation_options, request_options, text_of
from dashboard.people.person import Person
from tests.dashboard.conftest import NOW_AT
from tests.dashboard.people.authenticator import Authenticator

EXAMPLE = PasskeyPlace("example.org", "https://example.org")
CREDENTIAL_ID = bytes.fromhex("f91f391db4c9b2fde0ea70189cba3fb63f579ba6122b33ad94ff3ec330084be4")
KEY = bytes.fromhex(
    "a5010203262001215820afefa16f97ca9b2d23eb86ccb64098d20db90856062eb249c33a9b672f26df61225820930a56b87a2fca66334b0345"
    "8abf879717c12cc68ed73290af2e2664796b9220"
)
ATTESTATION = bytes.fromhex(
    "a363666d74646e6f6e656761747453746d74a068617574684461746158a4bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f0"
    "1452b2e4b559000000008446ccb9ab1db374750b2367ff6f3a1f0020"
) + CREDENTIAL_ID + KEY  # fmt: skip
MAKE_TOLD = bytes.fromhex(
    "7b2274797065223a22776562617574686e2e637265617465222c226368616c6c656e6765223a22414d4d507434557878475453746e63647134"
    "313759447742466938767049612d7077386f4f755657345441222c226f726967696e223a2268747470733a2f2f6578616d706c652e6f7267222c226372"
    "6f73734f726967696e223a66616c73652c22657874726144617461223a22636c69656e74446174614a534f4e206d617920626520657874656e"
    "6465642077697468206164646974696f6e616c206669656c647320696e20746865206675747572652c207375636820617320746869733a2042"
    "6b5165446a646354427258426941774a544c4535513d3d227d"
)
SIGN_TOLD = bytes.fromhex(
    "7b2274797065223a22776562617574686e2e676574222c226368616c6c656e6765223a224f63446e55685158756c5455506f334a5558543049"
    "393770767a7a59425039745a63685879617630314167222c226f726967696e223a2268747470733a2f2f6578616d706c652e6f7267222c2263726f"
    "73734f726967696e223a66616c73657d"
)
SIGN_DATA = bytes.fromhex("bfabc37432958b063360d3ad6461c9c4735ae7f8edd46592a5e0f01452b2e4b51900000000")
SIGN_CHALLENGE = bytes.fromhex("39c0e7521417ba54d43e8dc95174f423dee9bf3cd804ff6d65c857c9abf4d408")
SIGNATURE = bytes.fromhex(
    "3046022100f50a4e2e4409249c4a853ba361282f09841df4dd4547a13a87780218deffcd380221008480ac0f0b93538174f575bf11a1dd5d78"
    "c6e486013f937295ea13653e331e87"
)


def credential(**response: bytes) -> dict[str, Any]:
    held = {name: text_of(value) for name, value in response.items()}
    return {"id": text_of(CREDENTIAL_ID), "rawId": text_of(CREDENTIAL_ID), "type": "public-key", "response": held}


def test_the_standards_own_registration_is_taken() -> None:
    challenge = read(json.dumps({"id": ""} | json.loads(MAKE_TOLD)))["challenge"]
    asked = Question(passkey_answers._bytes(challenge), EXAMPLE, NOW_AT)
    found = made(credential(clientDataJSON=MAKE_TOLD, attestationObject=ATTESTATION), asked)
    assert (found.credential_id, found.public_key, found.sign_count) == (text_of(CREDENTIAL_ID), KEY, 0)


def test_the_standards_own_sign_in_is_taken_and_one_bent_bit_is_not() -> None:
    asked = Question(SIGN_CHALLENGE, EXAMPLE, NOW_AT)
    right = {"clientDataJSON": SIGN_TOLD, "authenticatorData": SIGN_DATA, "signature": SIGNATURE}
    assert sign_count(credential(**right), asked, KEY) == 0
    bent = right | {"signature": SIGNATURE[:-1] + bytes([SIGNATURE[-1] ^ 1])}
    with pytest.raises(EntryRefused, match="does not fit what this house asked"):
        sign_count(credential(**bent), asked, KEY)


KEEPER = Person("0199-keeper", "Keeper", "owner")
PLACE = PasskeyPlace("cave.home.arpa", "https://cave.home.arpa:8443")
QUESTION = Question(b"c" * 32, PLACE, NOW_AT)
OTHER = Question(b"d" * 32, PLACE, NOW_AT)


def phone(host: str = PLACE.host, origin: str = PLACE.origin, count: int = 0) -> Authenticator:
    return Authenticator(host, origin, text_of(b"0199-keeper"), count=count)


BENT_MAKING: dict[str, Callable[[], dict[str, Any]]] = {
    "another challenge": lambda: phone().make(creation_options(OTHER, KEEPER, "d", [])),
    "another port": lambda: phone(origin="https://cave.home.arpa:9").make(creation_options(QUESTION, KEEPER, "d", [])),
    "plain http": lambda: phone(origin="http://cave.home.arpa").make(creation_options(QUESTION, KEEPER, "d", [])),
    "another name": lambda: phone(host="nas.home.arpa").make(creation_options(QUESTION, KEEPER, "d", [])),
    "a sign-in": lambda: phone().make(creation_options(QUESTION, KEEPER, "d", []), type="webauthn.get"),
    "another id": lambda: phone().make(creation_options(QUESTION, KEEPER, "d", [])) | {"rawId": text_of(b"x")},
    "no answer": lambda: {"id": "a"},
}


def last_reason(caplog: pytest.LogCaptureFixture) -> str:
    return caplog.messages[-1]


@pytest.mark.parametrize(
    ("bent", "reason"),
    [
        ("another challenge", "challenge was not expected"), ("another port", "Unexpected client data origin"),
        ("plain http", "Unexpected client data origin"), ("another name", "Unexpected RP ID hash"),
        ("a sign-in", "Unexpected client data type"), ("another id", "id and raw_id were not equivalent"),
        ("no answer", "missing required rawId"),
    ],
)  # fmt: skip
def test_a_bent_making_is_refused_for_what_is_bent(bent: str, reason: str, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("INFO")
    with pytest.raises(EntryRefused):
        made(BENT_MAKING[bent](), QUESTION)
    assert reason in last_reason(caplog)


def test_a_sign_in_by_another_key_or_for_another_question_is_refused(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("INFO")
    mine, other = phone(count=5), phone(count=9)
    key = made(mine.make(creation_options(QUESTION, KEEPER, "d", [])), QUESTION).public_key
    assert sign_count(mine.sign(request_options(OTHER)), OTHER, key) == 5
    for answer, reason in (
        (other.sign(request_options(OTHER)), "Could not verify authentication signature"),
        (mine.sign(request_options(QUESTION)), "challenge was not expected"),
        (mine.sign(request_options(OTHER), origin="https://cave.home.arpa"), "Unexpected client data origin"),
    ):
        with pytest.raises(EntryRefused):
            sign_count(answer | {"id": text_of(mine.id), "rawId": text_of(mine.id)}, OTHER, key)
        assert reason in last_reason(caplog)


def test_whose_it_is_is_read_as_far_as_it_is_told() -> None:
    assert user_of({"response": {"userHandle": text_of(b"0199")}}) == "0199"
    assert [user_of(one) for one in ({}, {"response": 1}, {"response": {"userHandle": ""}})] == [None] * 3
    assert [user_of({"response": {"userHandle": text}}) for text in ("\xff", "A", "_w")] == [""] * 3


NAMES = ["id", "response", "userHandle"]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=60) | st.recursive(
    st.none() | st.integers() | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(NAMES), inner),
).map(json.dumps))  # fmt: skip
def test_whatever_a_page_sends_is_read_or_refused(text: str) -> None:
    try:
        found = read(text)
    except EntryRefused as refused:
        found = {"id": str(refused)}
    assert isinstance(found["id"], str)
    assert user_of(found) is None or isinstance(user_of(found), str)


@pytest.mark.parametrize("text", ["[" * 9_000, '{"id":1}', "{", '{"id":"' + "x" * LONGEST])
def test_what_cannot_be_an_answer_is_refused(text: str) -> None:
    with pytest.raises(EntryRefused, match=r"Try again\.|at most 20000"):
        read(text)


def test_bytes_that_take_the_library_by_surprise_are_refused_too(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("INFO")
    hostile = phone().make(creation_options(QUESTION, KEEPER, "d", []))
    for attestation in (b"\x81" * 5_000, b"\x9b" + b"\xff" * 8, cbor2.dumps({"fmt": "tpm"})):
        hostile["response"]["attestationObject"] = text_of(attestation)
        with pytest.raises(EntryRefused):
            made(hostile, QUESTION)
        assert "passkey_refused do=make" in last_reason(caplog)
