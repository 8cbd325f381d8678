"""The pages. A page is a module with a `router` and, when it stands in the navigation, a `NAV`; plus one line here."""

PAGES = (
    "dashboard.pages.start",
    "dashboard.pages.sign_in",
    "dashboard.pages.one_time_link",
    "dashboard.pages.shell",
    "dashboard.pages.begin",
    "dashboard.pages.caves",
    "dashboard.pages.cave",
    "dashboard.pages.cooler",
    "dashboard.pages.warnings",
    "dashboard.pages.type_reading",
    "dashboard.pages.connect",
    "dashboard.pages.topics",
    "dashboard.pages.probes",
    "dashboard.pages.probe",
    "dashboard.pages.more",
    "dashboard.pages.settings",
    "dashboard.pages.safe_connection",
    "dashboard.pages.phone",
)
