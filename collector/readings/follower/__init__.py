"""InfluxDB follows: readings and their ten-minute rollups are copied to it by the change log, never back.

Readings count as kept when the store here has committed them; nothing waits for the network.
"""
