"""Own paths, told from addresses that lead elsewhere."""

from urllib.parse import urlsplit


def own_path(text: str, otherwise: str = "/") -> str:
    """The text when it is a path on this very site, else the other one: no link of ours leads a person away.

    Browsers read a backslash like a slash and drop tabs and line ends, so none of them may be in it.
    """
    if not text.startswith("/") or text.startswith("//") or "\\" in text or any(ord(sign) < 33 for sign in text):
        return otherwise
    try:
        parts = urlsplit(text)
    except ValueError:
        return otherwise
    return otherwise if parts.scheme or parts.netloc else text
