"""Look-back: what was different before a rind note; pure."""
