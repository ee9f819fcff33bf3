"""The demo garden; everything in it is invented."""
