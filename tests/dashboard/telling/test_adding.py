"""The forms for a new way."""

from typing import Any

import pytest

from collector.errors import EntryRefused
from collector.notify.sending import MAKERS
from dashboard.telling.adding import BY_PATH, read
from tests.collector.notify.servers import mail_server
from tests.collector.notify.test_channel_contract import a_message

MAIL = {"to": "keeper+cave@example.org", "from": "cave@example.org", "host": "smtp.example.org:2525"}


def test_an_email_typed_in_fields_arrives_at_a_mail_server() -> None:
    with mail_server() as server:
        typed = MAIL | {"host": f"127.0.0.1:{server.port}", "safety": "insecure"}
        chosen = read(BY_PATH["email"], typed, {})
        MAKERS["apprise"]("mail", chosen.options).send(a_message())
        assert server.recipients == ["keeper+cave@example.org"]
        assert server.mails[0]["From"] == "cave@example.org"


def test_a_password_with_every_sign_reaches_the_mail_library_whole() -> None:
    # Read back by the mail library's own parser.
    import apprise

    password = "a/b:c@d?e#f&g h%i+ü"
    typed = MAIL | {"user": "cave@example.org", "password": password}
    plugin: Any = apprise.Apprise.instantiate(read(BY_PATH["email"], typed, {}).options["url"])
    assert plugin is not None
    assert (plugin.user, plugin.password, plugin.port) == ("cave@example.org", password, 2525)
    assert (plugin.smtp_host, plugin.secure, str(plugin.secure_mode)) == ("smtp.example.org", True, "starttls")


@pytest.mark.parametrize(
    ("path", "typed", "field", "said"),
    [
        ("email", {"to": "keeper"}, "to", "one e-mail address"),
        ("email", MAIL | {"to": "a@example.org,b@example.org"}, "to", "one e-mail address"),
        ("email", MAIL | {"from": ""}, "from", "one e-mail address"),
        ("email", MAIL | {"host": "smtp.example.org/x"}, "host", "mail server's name"),
        ("email", MAIL | {"host": "smtp.example.org:70000"}, "host", "mail server's name"),
        ("email", MAIL | {"safety": "perhaps"}, "safety", "one of the choices"),
        ("service", {"url": "my phone"}, "url", "mailto://"),
        ("webhook", {"url": "ftp://example.org"}, "url", "https://"),
        ("heartbeat", {"url": ""}, "url", "https://"),
        ("devices", {"least": "note"}, "least", "one of the choices"),
        ("devices", {"whose": "somebody"}, "whose", "one of the choices"),
        ("devices", {"name": "x" * 81}, "name", "at most 80 characters; this has 81"),
    ],
)
def test_what_cannot_be_taken_is_named_by_its_field(path: str, typed: dict[str, str], field: str, said: str) -> None:
    with pytest.raises(EntryRefused, match=said) as caught:
        read(BY_PATH[path], typed, {})
    assert caught.value.field == field


def test_a_webhook_gets_a_secret_of_its_own() -> None:
    first, second = (read(BY_PATH["webhook"], {"url": "https://example.org/x"}, {}).options for _ in range(2))
    assert len(first["secret"]) >= 32
    assert first["secret"] != second["secret"]
