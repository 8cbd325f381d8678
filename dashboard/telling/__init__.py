"""How warnings reach people: the ways out of the house, quiet hours, snoozes, and the phones that asked for them."""
