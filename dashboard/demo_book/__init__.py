"""The invented dairy's wheel book: a year of it, written as its keeper would have entered it."""
