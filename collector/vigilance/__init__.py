"""Watching the watchers: what is judged by arrival and by the clock, one module for each thing looked at."""
