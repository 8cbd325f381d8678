"""Which names a certificate gets without being asked. Pure."""

from dashboard.https.scope import is_host_name


def default_names(base_host: str, machine: str) -> list[str]:
    """The host that the household chose ("" for none), the machine's own name, and that with .local behind it."""
    names = [base_host, machine, f"{machine.partition('.')[0]}.local"]
    return [name for name in dict.fromkeys(names) if name and is_host_name(name) and name != "localhost"]
