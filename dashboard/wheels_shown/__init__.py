"""The wheel book as its pages show it: lists, one wheel, what a person may call things. Only reads."""
