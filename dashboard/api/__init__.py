"""The API. A part of it is a module with a `router`, mounted below /api, plus one line here."""

API = (
    "dashboard.api.description",
    "dashboard.api.entries",
    "dashboard.api.places",
    "dashboard.api.air",
    "dashboard.api.probes",
    "dashboard.api.handing_in",
    "dashboard.api.warnings",
    "dashboard.api.export",
)
