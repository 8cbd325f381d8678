"""The wheel book: makes, wheels, where they have been, and everything that a person enters about them."""
