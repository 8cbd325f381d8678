"""What the authority may speak for."""

import pytest

from dashboard.https.names import default_names
from dashboard.https.scope import Scope, is_host_name, is_of_the_house, scope_of


def test_the_scope_has_room_for_the_house_and_nothing_else() -> None:
    scope = scope_of(["cellar", "cellar.local"], ["192.168.7.20", "fd12:3456:789a:1::20", "8.8.8.8", "127.0.0.1"])
    assert scope == Scope(("cellar", "cellar.local", "home.arpa"), ("192.168.0.0/16", "fd12:3456:789a:1::/64"))
    assert scope.lacks(["cave.home.arpa", "cellar", "bank.example"], ["192.168.9.1", "10.0.0.1"]) == [
        "bank.example",
        "10.0.0.1",
    ]


# RFC 1918, section 3; RFC 4193, section 3.1; RFC 5737 is for documentation; RFC 3927 is link-local.
@pytest.mark.parametrize(
    ("address", "ours"),
    [("10.1.2.3", True), ("172.16.0.1", True), ("172.32.0.1", False), ("192.168.0.1", True), ("fd00::1", True),
     ("fe80::1", False), ("127.0.0.1", False), ("169.254.1.1", False), ("192.0.2.1", False), ("2001:db8::1", False),
     ("0.0.0.0", False)],
)  # fmt: skip
def test_addresses_of_the_house(address: str, ours: bool) -> None:
    assert is_of_the_house(address) is ours


@pytest.mark.parametrize("name", ["cave.home.arpa", "cellar", "a-b.c1", "x" * 63])
def test_names(name: str) -> None:
    assert is_host_name(name)


@pytest.mark.parametrize(
    "name",
    ["", "-a", "a-", "a..b", "a b", "*.home.arpa", "käse.home.arpa", "x" * 64, "192.168.7.20", "a_b", "a/b", "a:1"],
)
def test_what_is_no_name(name: str) -> None:
    assert not is_host_name(name)


def test_default_names_leave_out_what_cannot_stand_there() -> None:
    assert default_names("cave.home.arpa", "cellar.lan") == ["cave.home.arpa", "cellar.lan", "cellar.local"]
    assert default_names("192.168.7.20", "localhost") == ["localhost.local"]
    assert default_names("", "my_machine") == []
