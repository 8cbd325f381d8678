"""Old logs: files in a folder that the collector takes in at low priority."""
