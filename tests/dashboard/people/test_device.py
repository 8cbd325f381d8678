"""Names for the list of sign-ins; the texts are the ones that the browsers' makers document."""

import pytest

from dashboard.people.device import device_name


@pytest.mark.parametrize(
    ("user_agent", "name"),
    [
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko)"
            " Version/18.5 Mobile/15E148 Safari/604.1",
            "iPhone, Safari",
        ),
        (
            "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/142.0.0.0 Mobile"
            " Safari/537.36",
            "Android phone or tablet, Chrome",
        ),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Linux, Firefox"),
        (
            "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/142.0.0.0"
            " Safari/537.36 Edg/142.0.0.0",
            "Windows, Edge",
        ),
        ("curl/8.5.0", "unknown device"),
        ("", "unknown device"),
    ],
)
def test_a_device_gets_a_short_name(user_agent: str, name: str) -> None:
    assert device_name(user_agent) == name
