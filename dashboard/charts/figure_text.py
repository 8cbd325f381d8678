"""Figures as text that may stand inside a page."""

import json
from typing import Any

from markupsafe import Markup

_ESCAPES = str.maketrans({"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"})


def figure_json(figure: dict[str, Any]) -> Markup:
    """A figure for `<script type="application/json">`: nothing in it can end that tag.

    Args:
        figure: plotly's data and layout as plain dicts and lists; None is a gap in a line; a colour may be a name of
            rindwatch.css like "--accent", so that it follows light and dark.
    Raises:
        ValueError: a NaN or infinite number, which JSON cannot say; write None for a gap.
    """
    return Markup(json.dumps(figure, allow_nan=False, separators=(",", ":")).translate(_ESCAPES))  # noqa: S704 # nosec B704
