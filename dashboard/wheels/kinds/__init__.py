"""The trade's words, one row each. A new kind of care, rind note, covering, chore, gear or style is one row here."""
