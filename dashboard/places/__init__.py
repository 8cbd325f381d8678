"""Places as people name and order them, and the air that they should have."""
