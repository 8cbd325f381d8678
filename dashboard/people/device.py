"""What to call a phone or computer in the list of sign-ins."""

DEVICES = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android phone or tablet"), ("Windows", "Windows"),
           ("Macintosh", "Mac"), ("CrOS", "Chromebook"), ("Linux", "Linux"))  # fmt: skip
# Order matters: most browsers also carry the names of older ones.
BROWSERS = (("Edg", "Edge"), ("Firefox", "Firefox"), ("FxiOS", "Firefox"), ("Chrome", "Chrome"), ("CriOS", "Chrome"),
            ("Safari", "Safari"))  # fmt: skip


def device_name(user_agent: str) -> str:
    """A short name like "iPhone, Safari", only for people to tell their sign-ins apart."""
    device = next((name for mark, name in DEVICES if mark in user_agent), "")
    browser = next((name for mark, name in BROWSERS if mark in user_agent), "")
    return ", ".join(part for part in (device, browser) if part) or "unknown device"
