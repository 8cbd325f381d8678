"""Everything in one file, and back again: taking, checking, restoring, trying, keeping some, sending elsewhere."""
