"""The bed: its soil test, what its crops need, what material gives it, and how much it may take."""
