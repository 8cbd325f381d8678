"""What stands in an entry, one typed form for each kind of entry."""
