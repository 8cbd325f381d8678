"""The API. A part of it is a module with a `router`, mounted below /api, plus one line here."""

API = ("dashboard.api.description", "dashboard.api.entries")
