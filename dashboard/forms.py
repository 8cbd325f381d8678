"""What was typed into a form, and what is wrong with it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from collector.errors import EntryRefused


@dataclass(frozen=True, slots=True)
class Form:
    """Typed texts by field, and error texts by field; templates show both in parts/fields.html."""

    texts: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        return self.texts.get(name, "")

    def error(self, name: str) -> str:
        return self.errors.get(name, "")

    def wrong(self, name: str, error: str) -> "Form":
        """The same form with one more error."""
        return replace(self, errors={**self.errors, name: error})


def of_field(name: str, refused: EntryRefused) -> EntryRefused:
    """What was refused of a value, as a sentence beside the form's field."""
    said = str(refused).rstrip(".")
    return EntryRefused(name, f"{said[:1].upper()}{said[1:]}.")
