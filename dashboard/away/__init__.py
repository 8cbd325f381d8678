"""While somebody is away: who stands in, what is to be done on which day, and the line of each evening."""
