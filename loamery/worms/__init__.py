"""The worm bed: how much it takes and what it gives."""
