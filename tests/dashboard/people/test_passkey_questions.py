"""Challenges are random, good once, for minutes, for one browser and one address; the library agrees with the rest."""

from datetime import timedelta

from webauthn import generate_authentication_options, generate_registration_options
from webauthn.helpers import base64url_to_bytes, options_to_json_dict
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from dashboard.people.passkey_questions import (
    LASTS,
    MOST,
    PasskeyPlace,
    Question,
    Questions,
    creation_options,
    request_options,
    text_of,
)
from dashboard.people.person import Person
from tests.dashboard.conftest import NOW_AT

PLACE = PasskeyPlace("cave.home.arpa", "https://cave.home.arpa:8443")
KEEPER = Person("0199-keeper", "Keeper", "owner")


def test_a_question_is_taken_once() -> None:
    questions = Questions()
    asked = questions.ask("a", PLACE, NOW_AT, "my phone")
    assert len(asked.challenge) == 32
    assert questions.take("b", PLACE, NOW_AT) is None
    assert questions.take("a", PLACE, NOW_AT) == asked
    assert questions.take("a", PLACE, NOW_AT) is None


def test_a_question_lasts_five_minutes_and_no_clock_makes_it_older_or_younger() -> None:
    questions = Questions()
    for later, good in ((LASTS, False), (LASTS - timedelta(seconds=1), True), (-timedelta(seconds=1), False)):
        questions.ask("a", PLACE, NOW_AT)
        assert (questions.take("a", PLACE, NOW_AT + later) is not None) is good


def test_a_question_of_another_address_is_used_up_without_an_answer() -> None:
    questions = Questions()
    questions.ask("a", PLACE, NOW_AT)
    assert questions.take("a", PasskeyPlace(PLACE.host, "https://cave.home.arpa:9"), NOW_AT) is None
    assert questions.take("a", PLACE, NOW_AT) is None


def test_a_newer_question_ends_the_older_and_a_multitude_the_oldest() -> None:
    questions = Questions()
    first = questions.ask("a", PLACE, NOW_AT)
    assert questions.ask("a", PLACE, NOW_AT).challenge != first.challenge
    for number in range(MOST):
        questions.ask(str(number), PLACE, NOW_AT)
    assert questions.take("a", PLACE, NOW_AT) is None
    assert questions.take("0", PLACE, NOW_AT) is not None


def test_what_the_browser_is_told_to_make_is_what_the_library_would_tell_it() -> None:
    question = Question(b"c" * 32, PLACE, NOW_AT)
    ours = creation_options(question, KEEPER, "The dairy", [text_of(b"held")])
    options = generate_registration_options(
        rp_id=PLACE.host, rp_name="The dairy", user_name="Keeper", user_id=b"0199-keeper", challenge=b"c" * 32,
        timeout=300_000, exclude_credentials=[PublicKeyCredentialDescriptor(id=b"held")],
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.REQUIRED, user_verification=UserVerificationRequirement.PREFERRED
        ),
    )  # fmt: skip
    assert ours == options_to_json_dict(options)


def test_what_the_browser_is_asked_to_sign_is_what_the_library_would_ask() -> None:
    question = Question(b"c" * 32, PLACE, NOW_AT)
    options = generate_authentication_options(rp_id=PLACE.host, challenge=b"c" * 32, timeout=300_000)
    assert request_options(question) == options_to_json_dict(options)


def test_bytes_are_written_as_the_library_reads_them() -> None:
    for length in range(5):
        assert base64url_to_bytes(text_of(b"\xfb" * length)) == b"\xfb" * length
