"""Records for tests of what the collector does around its readings."""

from tests.collector.records_fixtures import empty_records, records_path

__all__ = ["empty_records", "records_path"]
