"""Records shared by tests of what the collector does around its readings."""

from tests.collector.notify.conftest import empty_records, records_path

__all__ = ["empty_records", "records_path"]
