"""Checking a probe against known air: salts, side by side, what a check is good for, and when the next is due."""
