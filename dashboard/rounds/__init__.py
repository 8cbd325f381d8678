"""The round: shelves in the person's own order, what is due there, and entries from what was touched or typed."""
