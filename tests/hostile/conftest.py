"""The dashboard's fixtures, for tests that mean it harm."""

from tests.dashboard.conftest import (  # noqa: F401
    app,
    clock,
    dashboard_settings,
    empty_records,
    engine,
    guest,
    helper,
    owner,
    settings,
    stranger,
    visitor,
)
